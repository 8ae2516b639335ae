package demo

import (
	"math"
	"math/rand/v2"

	"relevel/events"
)

// Floor is the floor as it truly is. A crew learns of it only by reading a
// staff, and what it does never comes out quite as meant.
//
// It is a play of figures and no model of timber: enough that nobody can work
// from what they meant to do.
type Floor struct {
	height  map[string]float64 // of the floor, above each support and at each spot and datum, mm
	depth   map[string]float64 // from the floor down to the underside of the bearer
	top     map[string]float64 // of the support itself
	beside  map[string][]string
	spots   map[string]map[string]float64 // by support, the share of its lift that each spot makes
	shares  map[string]string             // the other half of a butted join, on the same support
	chances *rand.Rand
}

// How far things go astray, in mm. Of the order a crew finds; no source.
const (
	readingSD  = 0.4 // one look at a staff
	jackingSD  = 0.4 // a lift against what was meant
	bedLeast   = 0.5 // the bearer settles into what it is let down on by this
	bedSpread  = 1.0 // to this much more
	carryShare = 0.04
)

// NewFloor is the floor of a house, with chances of its own for each label.
func NewFloor(h House, label string) *Floor {
	f := &Floor{
		height: map[string]float64{}, depth: map[string]float64{}, top: map[string]float64{},
		beside: besides(h.Plan), spots: sharesOfSpots(h.Plan), shares: sharing(h.Plan), chances: rand.New(source(label)),
	}
	for _, d := range h.Plan.Datums {
		f.height[d.ID] = d.Height.MM()
	}
	for _, s := range h.Plan.Spots {
		f.height[s.ID] = h.HeightMM[s.ID]
	}
	for _, s := range h.Plan.Supports {
		f.height[s.ID] = h.HeightMM[s.ID] + f.astray(0.3)
		f.depth[s.ID] = 194 + f.astray(2)
		f.top[s.ID] = f.underside(s.ID) - 12 - 10*f.chances.Float64() // old packing, crushed
	}
	return f
}

// besides are the supports next to each on the same length of bearer: nothing
// passes a butted join.
func besides(p events.Plan) map[string][]string {
	next := map[string][]string{}
	for _, b := range p.Bearers {
		for i := 1; i < len(b.Supports); i++ {
			if l, r := b.Supports[i-1], b.Supports[i]; !butted(b, l, r) {
				next[l], next[r] = append(next[l], r), append(next[r], l)
			}
		}
	}
	return next
}

// sharesOfSpots is how much of each support's lift every spot makes: the nearer, the
// more, and all of it where all supports rise alike.
func sharesOfSpots(p events.Plan) map[string]map[string]float64 {
	of := map[string]map[string]float64{}
	for _, at := range p.Supports {
		of[at.ID] = map[string]float64{}
	}
	for _, spot := range p.Spots {
		near, all := make([]float64, len(p.Supports)), 0.0
		for i, at := range p.Supports {
			dx, dy := at.X-spot.X, at.Y-spot.Y
			square := dx*dx + dy*dy
			near[i] = 1 / (square*square + 0.01)
			all += near[i]
		}
		for i, at := range p.Supports {
			of[at.ID][spot.ID] = near[i] / all
		}
	}
	return of
}

func sharing(p events.Plan) map[string]string {
	other := map[string]string{}
	for _, b := range p.Bearers {
		for _, j := range b.Joins {
			if j.Sort == events.Butted {
				other[j.At], other[j.Other] = j.Other, j.At
			}
		}
	}
	return other
}

// Sharing lists the ends of bearer that stand on one support: its own and,
// at a butted join, the other.
func (f *Floor) Sharing(support string) []string {
	ends := []string{support}
	if other := f.shares[support]; other != "" {
		ends = append(ends, other)
	}
	return ends
}

func butted(b events.Bearer, l, r string) bool {
	for _, j := range b.Joins {
		if j.Sort == events.Butted && (j.At == l && j.Other == r || j.At == r && j.Other == l) {
			return true
		}
	}
	return false
}

// Staff is what the staff shows on a face of a place from a laser plane at the
// given height, to the whole millimetre. From below it hangs from the bearer,
// upside down.
func (f *Floor) Staff(planeMM float64, place string, face events.Face) float64 {
	return math.Round(planeMM - f.face(place, face) + f.astray(readingSD))
}

func (f *Floor) face(place string, face events.Face) float64 {
	switch face {
	case events.BearerFace:
		return f.underside(place)
	case events.SupportFace:
		return f.top[place]
	}
	return f.height[place]
}

func (f *Floor) underside(support string) float64 { return f.height[support] - f.depth[support] }

// Jack raises a support by about what is meant and returns the rise as a rule
// beside the jack shows it, to half a millimetre.
func (f *Floor) Jack(support string, meantMM float64) float64 {
	rise := meantMM + f.astray(jackingSD)
	f.move(support, rise)
	return math.Round(2*(rise+f.astray(readingSD/2))) / 2
}

func (f *Floor) move(support string, by float64) {
	f.rise(support, by)
	for _, n := range f.beside[support] {
		f.rise(n, carryShare*by)
	}
}

func (f *Floor) rise(support string, by float64) {
	f.height[support] += by
	for spot, share := range f.spots[support] {
		f.height[spot] += share * by
	}
}

// Gap is the gap between support and bearer as measured there, to the whole
// millimetre that still goes in.
func (f *Floor) Gap(support string) float64 {
	return math.Floor(f.underside(support) - f.top[support])
}

// JackDown lets the bearer down onto packing of a thickness. It comes to rest a
// little lower than the packing says.
func (f *Floor) JackDown(support string, packingMM float64) {
	bed := bedLeast + bedSpread*f.chances.Float64()
	f.move(support, f.top[support]+packingMM-bed-f.underside(support))
}

// Renew gives a support a new top, cut so that a gap of about so many mm is
// left under the bearer.
func (f *Floor) Renew(support string, gapMM float64) {
	f.top[support] = f.underside(support) - gapMM + f.astray(1)
}

// Off is how far the floor truly lies above a height at its worst place among
// the supports.
func (f *Floor) Off(heightMM float64) float64 {
	worst := 0.0
	for support := range f.depth {
		if off := f.height[support] - heightMM; math.Abs(off) > math.Abs(worst) {
			worst = off
		}
	}
	return worst
}

func (f *Floor) astray(sd float64) float64 { return sd * f.chances.NormFloat64() }
