package jobs

import (
	"math"
	"slices"

	"relevel/events"
	"relevel/levelling"
	"relevel/levelling/beam"
)

// girder is one length of bearer, from end to end or from one butted join to
// the next: what bends as one. Halved, scarfed and plated joins are hinges in it.
type girder struct {
	bearer   string
	supports []string  // in order, those that are there
	spans    []float64 // m, between them
	hinges   []int     // which of the supports lie under a join
	ei       float64   // of the section, kN·m²; 0: nobody recorded it
	load     float64   // what lies on it now, kN per metre
}

// girders parts the bearers of a plan where nothing passes.
func (s *State) girders() []*girder {
	var all []*girder
	for _, b := range s.floor.plan.Bearers {
		g := newGirder(b)
		for i, id := range b.Supports {
			if s.place(id).noneHere {
				continue
			}
			if n := len(g.supports); n > 0 && parts(b, b.Supports[i-1], id) {
				all, g = append(all, g), newGirder(b)
			}
			g.lay(s, b, id)
		}
		all = append(all, g)
	}
	return slices.DeleteFunc(all, func(g *girder) bool { return len(g.supports) < 2 })
}

func newGirder(b events.Bearer) *girder { return &girder{bearer: b.ID, ei: sectionEI(b)} }

// lay puts the next support under it.
func (g *girder) lay(s *State, b events.Bearer, id string) {
	if n := len(g.supports); n > 0 {
		before, here := s.place(g.supports[n-1]), s.place(id)
		g.spans = append(g.spans, levelling.Distance(before.x, before.y, here.x, here.y))
	}
	if slices.ContainsFunc(b.Joins, func(j events.Join) bool { return j.Sort != events.Butted && j.At == id }) {
		g.hinges = append(g.hinges, len(g.supports))
	}
	g.supports = append(g.supports, id)
}

// parts tells whether a butted join lies between two supports.
func parts(b events.Bearer, one, next string) bool {
	return slices.ContainsFunc(b.Joins, func(j events.Join) bool {
		return j.Sort == events.Butted && ((j.At == one && j.Other == next) || (j.At == next && j.Other == one))
	})
}

// sectionEI is EI by the section, kN·m², its timber as recorded or as its grade
// has it: nothing where the section or both of these are not recorded.
func sectionEI(b events.Bearer) float64 {
	e := b.EMPa
	if g, known := beam.FindGrade(b.Grade); e == 0 && known {
		e = g.EMPa
	}
	return beam.Section{WidthMM: b.WidthMM, DepthMM: b.DepthMM}.EI(e)
}

// away is where the seat of a support lies that was taken out, mm: further down
// than any bearer hangs.
const away = -1e4

// on is the bearer on seats at these heights, mm above as found, where its
// stiffness is so many times what its section says.
//
// As found an old bearer has settled into its line and its supports all carry:
// what it has bent by then is not undone by a lift. So only what was moved since
// counts.
func (g *girder) on(seats []float64, times float64) beam.Bearer {
	b := beam.Bearer{Joins: g.hinges}
	for _, l := range g.spans {
		b.Spans = append(b.Spans, beam.Span{LengthM: l, EI: g.ei * times, UDL: g.load})
	}
	for _, seat := range seats {
		b.Supports = append(b.Supports, beam.Support{RaiseMM: seat})
	}
	return b
}

// heights is where the bearer then lies over each of its supports, mm above as
// found. It is false where that cannot be reckoned.
func (g *girder) heights(seats []float64, times float64) ([]float64, bool) {
	s, err := g.on(seats, times).Solve()
	if err != nil {
		return nil, false
	}
	out := make([]float64, len(seats))
	for i, r := range s.Rests {
		out[i] = r.HeightMM
	}
	return out, true
}

// known tells whether section, timber and load are known, so that the bearer can
// be reckoned.
func (g *girder) known() bool { return g != nil && g.ei > 0 && g.load > 0 }

// seats is how high what carries each of its supports stands above as found.
func (s *State) seats(g *girder) []float64 {
	out := make([]float64, len(g.supports))
	for i, id := range g.supports {
		w := &s.place(id).work
		if out[i] = w.seat; w.out != nil && w.jack == nil && len(w.blocks) == 0 {
			out[i] = away
		}
	}
	return out
}

// Bearer is what is known of one bearer of the plan, and what the readings say
// of it.
type Bearer struct {
	ID    string  `json:"id"`
	Lacks string  `json:"lacks,omitempty"`     // what nobody recorded, without which no lift can be reckoned
	EI    float64 `json:"ei_knm2,omitempty"`   // by its section
	Load  float64 `json:"load_kn_m,omitempty"` // on it while it is lifted
	Low   float64 `json:"times_low,omitempty"` // its stiffness against its load is from so many
	High  float64 `json:"times_high,omitempty"`
	From  int     `json:"from"` // readings that could tell
}

// bearerViews lists the bearers of the plan, as their longest lengths are.
func (s *State) bearerViews() []Bearer {
	var out []Bearer
	for _, g := range s.floor.girders {
		v := s.bearerView(g)
		if n := len(out); n > 0 && out[n-1].ID == v.ID {
			out[n-1].Load = math.Max(out[n-1].Load, v.Load)
			continue
		}
		out = append(out, v)
	}
	return out
}

func (s *State) bearerView(g *girder) Bearer {
	on := s.floor.bearer(g.bearer)
	v := Bearer{ID: g.bearer, EI: g.ei, Load: g.load}
	switch {
	case on.WidthMM == 0 || on.DepthMM == 0:
		v.Lacks = "its width and depth"
	case g.ei == 0:
		v.Lacks = "the stiffness of its timber, or a grade"
	case g.load == 0:
		v.Lacks = s.say("another bearer beside it, to tell what it carries")
	default:
		k := s.stiffnessOn(g.bearer)
		low, high := k.likely()
		v.Low, v.High, v.From = octaves[low], octaves[high], k.from
	}
	return v
}
