package jobs

import (
	"fmt"
	"math"
	"slices"

	"relevel/events"
	"relevel/levelling"
	"relevel/levelling/beam"
)

// Carrying is what the bearer over one support leads one to expect when that
// support is jacked as far as it has to go. It is indicative and no engineering
// design: nothing in it is a permission.
type Carrying struct {
	Bearer  string     `json:"bearer"`
	Lacks   string     `json:"lacks,omitempty"` // what nobody recorded: then there is nothing else
	LiftMM  float64    `json:"lift_mm"`         // neighbours are reckoned as far as this
	MoveMM  float64    `json:"move_mm"`         // and the force of the jack after this much
	ForceKN *Range     `json:"force_kn,omitempty"`
	Watch   []Watching `json:"watch,omitempty"`
	Words   string     `json:"words,omitempty"`   // "from about 8 to 30 mm at B2-3: watch B2-2 and B2-4"
	Bending string     `json:"bending,omitempty"` // where it is high; nothing is said where it is not
	From    int        `json:"from"`              // readings that narrowed it
}

// Range is from the least to the most of what is likely.
type Range struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Watching is a support that the bearer comes off as its neighbour is lifted.
type Watching struct {
	Support string   `json:"support"`
	FromMM  float64  `json:"from_mm"`         // of the lift, the earliest
	ToMM    *float64 `json:"to_mm,omitempty"` // the latest; nil where it lies beyond the lift
}

// Carrying works out what lifting a support does, and what its jack feels after a
// move of so many mm; after the whole lift where that is 0. It is false for what
// stands under no bearer.
func (s *State) Carrying(id string, moveMM float64) (Carrying, bool) {
	i := slices.IndexFunc(s.floor.girders, func(g *girder) bool { return slices.Contains(g.supports, id) })
	if i < 0 {
		return Carrying{}, false
	}
	g := s.floor.girders[i]
	v := s.bearerView(g)
	c := Carrying{Bearer: g.bearer, Lacks: v.Lacks, From: v.From, LiftMM: s.liftToReckon(s.place(id)), MoveMM: moveMM}
	if moveMM <= 0 {
		c.MoveMM = c.LiftMM
	}
	if c.Lacks == "" && g.known() {
		s.reckon(&c, g, slices.Index(g.supports, id), v)
	}
	return c, true
}

// liftToReckon is what a support has to go, or without that ten millimetres.
func (s *State) liftToReckon(p *place) float64 {
	if r, known := s.remaining(p); known && r.MM > 0 {
		return r.MM + s.bedsIn(p)
	}
	return 10
}

// reckon fills in what the bearer says, stiffness and load as uncertain as the
// readings leave them.
func (s *State) reckon(c *Carrying, g *girder, at int, v Bearer) {
	factor := math.Max(math.Sqrt(math.Sqrt(v.High/v.Low)), halfAnOctave)
	seats, middle := s.seats(g), math.Sqrt(v.Low*v.High)
	now, ok := g.heights(seats, middle)
	if !ok {
		return
	}
	seats[at] = now[at] // a jack begins where the bearer is
	b := g.on(seats, middle)
	watch, err := b.Watch(at, c.LiftMM, factor)
	if err != nil {
		return
	}
	for _, w := range watch {
		c.Watch = append(c.Watch, Watching{g.supports[w.Support], w.From, w.To})
	}
	c.Words = watchWords(g.supports[at], c.Watch, s.units)
	c.ForceKN = force(g, seats, at, c.MoveMM, v)
	c.Bending = s.bendingWords(g, b, at, c.LiftMM)
}

// halfAnOctave is as finely as readings tell one stiffness from another.
const halfAnOctave = 1.19

// force is what a jack feels on the way: as its load and stiffness may be.
func force(g *girder, seats []float64, at int, lift float64, v Bearer) *Range {
	r := Range{Low: math.Inf(1)}
	for _, load := range []float64{0.5, 1, 2} {
		for _, times := range []float64{v.Low, v.High} {
			scaled := *g
			scaled.load = g.load * load
			steps, err := scaled.on(seats, times*load).Path(at, lift)
			if err != nil || len(steps) == 0 {
				return nil
			}
			end := steps[len(steps)-1].ForceKN
			r.Low, r.High = math.Min(r.Low, end), math.Max(r.High, end)
		}
	}
	return &r
}

func watchWords(at string, watch []Watching, u levelling.Unit) string {
	if len(watch) == 0 {
		return ""
	}
	from, to, names := math.Inf(1), 0.0, []string(nil)
	open := false
	for _, w := range watch {
		from = math.Min(from, w.FromMM)
		if w.ToMM == nil {
			open = true
		} else {
			to = math.Max(to, *w.ToMM)
		}
		names = append(names, w.Support)
	}
	if open {
		return fmt.Sprintf("from about %s at %s on: watch %s", u.ShowWith(from), at, andWords(names))
	}
	return fmt.Sprintf("from about %s to %s at %s: watch %s", u.Show(from), u.ShowWith(to), at, andWords(names))
}

// bendingWords says where bending is high for sound timber of the recorded
// grade, now or at the end of the lift. Without grade and condition, and where it
// is not high, nothing is said: it is no check that a bearer passes.
func (s *State) bendingWords(g *girder, b beam.Bearer, at int, lift float64) string {
	on := s.floor.bearer(g.bearer)
	grade, known := beam.FindGrade(on.Grade)
	if !known || on.Condition == "" {
		return ""
	}
	b.Supports = slices.Clone(b.Supports)
	section := beam.Section{WidthMM: on.WidthMM, DepthMM: on.DepthMM}
	for _, raise := range []float64{0, lift} {
		b.Supports[at].RaiseMM += raise
		rest, err := b.Solve()
		if err != nil {
			return ""
		}
		sag, hog := rest.Extremes()
		for _, m := range []beam.Moment{sag, hog} {
			if ratio, err := grade.Ratio(section, m); err == nil && ratio >= beam.High {
				return fmt.Sprintf("bending is high for sound timber of grade %s (%s): engineer", grade.Name, grade.Source)
			}
		}
	}
	return ""
}

func (f *floor) bearer(id string) events.Bearer {
	i := slices.IndexFunc(f.plan.Bearers, func(b events.Bearer) bool { return b.ID == id })
	if i < 0 {
		return events.Bearer{}
	}
	return f.plan.Bearers[i]
}
