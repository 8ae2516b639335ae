package jobs

import (
	"math"

	"relevel/events"
	"relevel/levelling"
	"relevel/levelling/underfloor"
)

// What is taken where the plan does not say. A timber floor with a ceiling weighs
// 10 to 12 psf (HUD Residential Structural Design Guide, Table 3.2, at second
// hand); it is designed for 1.5 kPa (AS/NZS 1170.1, at second hand); while it is
// lifted a part of that stands on it (common practice, no source).
const (
	floorDeadKPa = 0.5
	floorLiveKPa = 1.5
	onFloorKPa   = 0.4
)

// Load is what a support carries by its share of the plan. It is indicative: for
// what is to be built an engineer and the local code decide.
type Load struct {
	FloorM2    float64   `json:"floor_m2"`
	WallM      float64   `json:"wall_m,omitempty"`
	RoofM2     float64   `json:"roof_m2,omitempty"`
	Continuity float64   `json:"continuity"` // of the bearer over it
	DeadKN     float64   `json:"dead_kn"`
	LiveKN     float64   `json:"live_kn"`
	DesignKN   float64   `json:"design_kn"`       // to build by
	JackKN     float64   `json:"jack_kn"`         // to expect on a gauge
	Taken      []string  `json:"taken,omitempty"` // what nobody recorded, and what was taken instead
	Pads       []PadSize `json:"pads,omitempty"`
}

// PadSize is how large a pad would have to be on ground that nobody tested.
type PadSize struct {
	Soil       string  `json:"soil"`
	KPa        float64 `json:"kpa,omitempty"` // none: an engineer
	SquareMM   float64 `json:"square_mm,omitempty"`
	DiameterMM float64 `json:"diameter_mm,omitempty"`
	VolumeM3   float64 `json:"volume_m3,omitempty"` // of concrete, where a thickness was asked for
	Bags       int     `json:"bags,omitempty"`      // where the yield of one was
	Source     string  `json:"source"`
}

// Pour is what a pad is to be made of, as somebody asks.
type Pour struct {
	ThicknessMM float64 // 0: nobody said
	BagM3       float64 // what a bag gives; there is no default product
}

// concreteKN is the weight of concrete, kN/m³ (24 CFR 3285.312 takes 150 lb/ft³,
// which is 23.6).
const concreteKN = 23.6

// floorDead is the weight of the floor by the plan, or what is taken instead.
func floorDead(l *events.Loads) float64 {
	if l == nil || l.FloorDeadKPa == 0 {
		return floorDeadKPa
	}
	return l.FloorDeadKPa
}

// widthAt is the width of floor that a bearer carries at one of its supports, m:
// half of the way to the next one on either side.
func (s *State) widthAt(g *girder, id string) float64 {
	first, last := s.place(g.supports[0]), s.place(g.supports[len(g.supports)-1])
	dx, dy := last.x-first.x, last.y-first.y
	length := math.Sqrt(float64(dx*dx) + float64(dy*dy))
	if length == 0 {
		return 0
	}
	left, right := 0.0, 0.0
	p := s.place(id)
	for _, other := range s.floor.beside[id] {
		o := s.place(other)
		off := (float64(dx*(o.y-p.y)) - float64(dy*(o.x-p.x))) / length
		left, right = nearer(left, off), nearer(right, -off)
	}
	return (left + right) / 2
}

// nearer keeps the smaller of two distances to one side; 0 is none yet.
func nearer(have, off float64) float64 {
	if off > 0 && (have == 0 || off < have) {
		return off
	}
	return have
}

// weigh works out what lies on each bearer while the floor is lifted.
func (s *State) weigh() {
	for _, g := range s.floor.girders {
		sum := 0.0
		for _, id := range g.supports {
			sum += s.widthAt(g, id)
		}
		g.load = (floorDead(s.floor.plan.Loads) + onFloorKPa) * sum / float64(len(g.supports))
	}
}

// LoadOn works out what a support carries, and pads for it. It is false for what
// stands under no bearer, or under one with nothing beside it to tell how much
// floor it carries.
func (s *State) LoadOn(id string, pour Pour) (Load, bool) {
	for _, g := range s.floor.girders {
		for i, other := range g.supports {
			if other == id {
				return s.loadOn(g, i, pour)
			}
		}
	}
	return Load{}, false
}

func (s *State) loadOn(g *girder, at int, pour Pour) (Load, bool) {
	id := g.supports[at]
	v := Load{Continuity: g.continuity(at)}
	v.FloorM2 = s.widthAt(g, id) * g.share(at)
	if v.FloorM2 == 0 {
		return Load{}, false
	}
	sums, err := s.sumUp(&v, id).Sum()
	if err != nil {
		return Load{}, false
	}
	v.DeadKN, v.LiveKN, v.DesignKN, v.JackKN = sums.Dead, sums.Live, sums.Design, sums.Jack
	for _, soil := range underfloor.Soils() {
		v.Pads = append(v.Pads, pour.pad(v.DesignKN, soil))
	}
	return v, true
}

// pad is the size of a pad on one ground; with a thickness its own weight comes
// off what that carries.
func (pour Pour) pad(loadKN float64, soil underfloor.Soil) PadSize {
	out := PadSize{Soil: soil.Name, KPa: soil.KPa, Source: soil.Source}
	p := underfloor.Pad{LoadKN: loadKN, SoilKPa: soil.KPa}
	if weight := concreteKN; pour.ThicknessMM > 0 {
		p.ThicknessMM, p.ConcreteKN = &pour.ThicknessMM, &weight
	}
	size, err := p.Size()
	if err != nil {
		return out
	}
	out.SquareMM, out.DiameterMM = size.SquareMM, size.DiameterMM
	if size.VolumeM3 != nil {
		out.VolumeM3, out.Bags = *size.VolumeM3, underfloor.Bags(*size.VolumeM3, pour.BagM3)
	}
	return out
}

// share is the length of bearer that a support carries, half of each span beside
// it, m.
func (g *girder) share(at int) float64 {
	m := 0.0
	if at > 0 {
		m += float64(g.spans[at-1] / 2)
	}
	if at < len(g.spans) {
		m += float64(g.spans[at] / 2)
	}
	return m
}

// continuity is how much more than its share a support carries because the bearer
// runs on over it.
func (g *girder) continuity(at int) float64 {
	even := girder{supports: g.supports, spans: g.spans, hinges: g.hinges, ei: 1, load: 1}
	s, err := even.on(make([]float64, len(g.supports)), 1).Solve()
	if err != nil || g.share(at) == 0 {
		return 1
	}
	return math.Max(1, s.Rests[at].ReactionKN/g.share(at))
}

// sumUp gathers a support's share, and says what was taken for what is not known.
func (s *State) sumUp(v *Load, id string) underfloor.Loads {
	l := events.Loads{}
	if s.floor.plan.Loads != nil {
		l = *s.floor.plan.Loads
	}
	live := l.FloorLiveKPa
	if l.FloorDeadKPa == 0 {
		v.Taken = append(v.Taken, "floor 0.5 kPa (HUD Residential Structural Design Guide, Table 3.2, second-hand)")
	}
	if live == 0 {
		live = floorLiveKPa
		v.Taken = append(v.Taken, "1.5 kPa on it (AS/NZS 1170.1, second-hand)")
	}
	out := underfloor.Loads{Floor: underfloor.Spread{AreaM2: v.FloorM2, DeadKPa: floorDead(&l), LiveKPa: live}, Continuity: v.Continuity, JackLive: onFloorKPa}
	run, roof := s.wallsOver(id)
	v.WallM, v.RoofM2 = run, roof*l.RoofM
	switch {
	case run > 0 && l.WallDeadKPa > 0 && l.WallM > 0:
		out.Walls = append(out.Walls, underfloor.Wall{RunM: run, HeightM: l.WallM, DeadKPa: l.WallDeadKPa})
	case run > 0:
		v.Taken = append(v.Taken, "walls weigh nothing: their height and weight are not recorded")
	}
	switch {
	case v.RoofM2 > 0 && l.RoofDeadKPa > 0:
		out.Roof = &underfloor.Spread{AreaM2: v.RoofM2, DeadKPa: l.RoofDeadKPa, LiveKPa: l.RoofLiveKPa}
	case roof > 0:
		v.Taken = append(v.Taken, "the roof weighs nothing: how much of it the walls carry, or its weight, is not recorded")
	}
	return out
}

// wallsOver is the length of wall, and of walls that carry roof, that stands
// nearer to a support than to any other, m.
func (s *State) wallsOver(id string) (run, roof float64) {
	for _, w := range s.floor.plan.Walls {
		length := levelling.Distance(w.From[0], w.From[1], w.To[0], w.To[1])
		n := int(math.Min(math.Ceil(length*10), 200)) // every tenth of a metre as far as 20
		here := 0
		for i := range n {
			part := (float64(i) + 0.5) / float64(n)
			x, y := w.From[0]+float64(part*(w.To[0]-w.From[0])), w.From[1]+float64(part*(w.To[1]-w.From[1]))
			if s.nearestSupport(x, y) == id {
				here++
			}
		}
		if here == 0 {
			continue
		}
		m := length * float64(here) / float64(n)
		run += m
		if w.Roof {
			roof += m
		}
	}
	return run, roof
}

func (s *State) nearestSupport(x, y float64) string {
	best, least := "", math.Inf(1)
	for _, p := range s.floor.plan.Supports {
		if d := levelling.Distance(x, y, p.X, p.Y); d < least && !s.place(p.ID).noneHere {
			best, least = p.ID, d
		}
	}
	return best
}
