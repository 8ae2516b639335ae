package jobs

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"relevel/events"
)

// Pricing is all that a schedule to price from is reckoned with. It holds what
// was read and recorded, and nothing that was taken for granted: what nobody
// recorded is missing here and said to be missing there.
type Pricing struct {
	Words     Words
	Aim       string // in words
	Rooms     []string
	Supports  []PricedSupport
	Stretches []BearerRun
	Cuts      []PricedCut
	Ties      []PricedTie
	Hatches   []string
	CannotGet []string // what could not be read, and why
	RoomMM    float64  // least, from the ground to the timber; 0: nobody said
	Rounds    *float64 // nil: nobody can tell
	RoundsBy  string   // where they come from, or what is lacking
}

// PricedSupport is one support as it is priced.
type PricedSupport struct {
	ID, Room string
	Lift     *Figure // down is negative; nil: not read, or nothing is asked of it
	Unread   bool
	LeftOut  string  // why, "" where it is not
	Replace  string  // why it is beyond packing, "" where it is not
	PadM3    float64 // of its new pad; 0: nobody can tell
	Bags     int
	PadBy    string // what the pad rests on, or what is lacking
}

// BearerRun is a length of bearer that a finding speaks of, at one support: between
// none and all of the half spans beside it where it is the end of what is named.
type BearerRun struct {
	Bearer, Support, Room string
	Metres, PM            float64
	Why                   string
}

// PricedCut is one floor cut; without an outline nobody knows its area.
type PricedCut struct {
	Name, Room string
	AreaM2     float64
}

// PricedTie is one tie.
type PricedTie struct {
	Name, Room, Trade string
}

// Schedule is what a job is priced from: figures by room and in all.
type Schedule struct {
	Aim   string
	Parts []SchedulePart // of each room, then of the whole house
}

// SchedulePart is one room, or with no name what is under none; the last is the
// whole house.
type SchedulePart struct {
	Room  string
	Whole bool
	Lines []ScheduleLine
}

// ScheduleLine is one figure: how many of what, its ±, and where it comes from.
type ScheduleLine struct {
	Item   string
	Figure *float64 // nil: nobody recorded it
	PM     float64  // 0: counted, or nobody can say
	Unit   string
	From   string
	Which  []string // the things themselves
}

// Schedule reckons the figures of each room and of the whole house.
func (p Pricing) Schedule() Schedule {
	out := Schedule{Aim: p.Aim}
	rooms := slices.Clone(p.Rooms)
	if len(rooms) > 0 {
		rooms = append(rooms, "")
		for _, room := range rooms {
			if lines := p.in(room).lines(); len(lines) > 0 {
				out.Parts = append(out.Parts, SchedulePart{Room: room, Lines: lines})
			}
		}
	}
	whole := p.lines()
	whole = append(whole, p.access()...)
	out.Parts = append(out.Parts, SchedulePart{Whole: true, Lines: whole})
	return out
}

// in is what of a house lies in one room.
func (p Pricing) in(room string) Pricing {
	out := Pricing{Words: p.Words}
	for _, s := range p.Supports {
		if s.Room == room {
			out.Supports = append(out.Supports, s)
		}
	}
	for _, s := range p.Stretches {
		if s.Room == room {
			out.Stretches = append(out.Stretches, s)
		}
	}
	for _, c := range p.Cuts {
		if c.Room == room {
			out.Cuts = append(out.Cuts, c)
		}
	}
	for _, t := range p.Ties {
		if t.Room == room {
			out.Ties = append(out.Ties, t)
		}
	}
	return out
}

func (p Pricing) lines() []ScheduleLine {
	return slices.Concat(p.packLines(), p.liftLines(), p.replaceLines(), p.bearerLines(), p.cutLines(), p.tieLines())
}

// numberOf is a figure of a schedule.
func numberOf(v float64) *float64 { return &v }

// names are those supports for which something is true.
func (p Pricing) names(is func(PricedSupport) bool) (ids []string) {
	for _, s := range p.Supports {
		if is(s) {
			ids = append(ids, s.ID)
		}
	}
	return ids
}

// moves tells whether a support is asked to move by what a screen can show.
func (p PricedSupport) moves() bool { return p.Lift != nil && math.Abs(p.Lift.MM) >= 0.5 }

// counted is a line that counts things, none where there are none.
func counted(item, from string, which []string) []ScheduleLine {
	if len(which) == 0 {
		return nil
	}
	return []ScheduleLine{{Item: item, Figure: numberOf(float64(len(which))), Unit: "no.", From: from, Which: which}}
}

func (p Pricing) packLines() []ScheduleLine {
	pack := p.names(func(s PricedSupport) bool { return s.moves() && s.Replace == "" && s.LeftOut == "" })
	unread := p.names(func(s PricedSupport) bool { return s.Unread && s.LeftOut == "" })
	var out []string
	for _, s := range p.Supports {
		if s.LeftOut != "" {
			out = append(out, s.ID+": "+s.LeftOut)
		}
	}
	return slices.Concat(counted(p.Words.Support+"s to pack", "readings", pack), counted(p.Words.Support+"s left out", "the aim", out),
		counted(p.Words.Support+"s not read", "nobody read them: their lift is in no figure", unread))
}

// liftLines sum up the lifts. The ± of each reading counts by itself, so that of
// a sum is the root of their squares.
func (p Pricing) liftLines() []ScheduleLine {
	var up, down, most Figure
	var setBy string
	for _, s := range p.Supports {
		if !s.moves() || s.LeftOut != "" {
			continue
		}
		sum := &up
		if s.Lift.MM < 0 {
			sum = &down
		}
		sum.MM, sum.SD = sum.MM+math.Abs(s.Lift.MM), rss(sum.SD, s.Lift.SD)
		if s.Lift.MM > most.MM {
			most, setBy = *s.Lift, s.ID
		}
	}
	var out []ScheduleLine
	add := func(item string, f Figure, which ...string) {
		if f.MM > 0 {
			out = append(out, ScheduleLine{Item: item, Figure: numberOf(f.MM), PM: f.SD, Unit: "mm", From: "readings", Which: which})
		}
	}
	add("lift in all", up)
	add("greatest lift", most, setBy)
	add("to come down in all", down)
	return out
}

// replaceLines are the supports that are beyond packing, and their pads.
func (p Pricing) replaceLines() []ScheduleLine {
	var which, by []string
	var lacking []string
	m3, bags, poured := 0.0, 0, 0
	for _, s := range p.Supports {
		if s.Replace == "" {
			continue
		}
		which = append(which, s.ID+": "+s.Replace)
		if s.PadM3 == 0 {
			lacking = append(lacking, s.ID)
			continue
		}
		poured++
		m3, bags = m3+s.PadM3, bags+s.Bags
		if !slices.Contains(by, s.PadBy) {
			by = append(by, s.PadBy)
		}
	}
	out := counted(p.Words.Support+"s to replace", "findings", which)
	if poured > 0 {
		out = append(out, ScheduleLine{Item: "pads to pour", Figure: numberOf(float64(poured)), Unit: "no.", From: "share of the floor each carries; " + joinWords(by)},
			ScheduleLine{Item: "concrete", Figure: numberOf(m3), Unit: "m³", From: "area by load and presumed ground, times the thickness"})
	}
	if bags > 0 {
		out = append(out, ScheduleLine{Item: "bags of concrete", Figure: numberOf(float64(bags)), Unit: "no.", From: "what a bag makes, each pad rounded up"})
	}
	if len(lacking) > 0 {
		out = append(out, ScheduleLine{Item: "pads that nobody can size yet", Unit: "no.", Figure: numberOf(float64(len(lacking))), From: cmp.Or(p.padLack(), "the plan does not tell"), Which: lacking})
	}
	return out
}

// padLack says what is missing to size a pad.
func (p Pricing) padLack() string {
	for _, s := range p.Supports {
		if s.Replace != "" && s.PadM3 == 0 && s.PadBy != "" {
			return s.PadBy
		}
	}
	return ""
}

// bearerLines sum up the lengths of bearer that findings speak of. Where each ends
// nobody measured; the ends of a length are not known together, so their ± adds.
func (p Pricing) bearerLines() []ScheduleLine {
	var m, pm float64
	var which []string
	for _, s := range p.Stretches {
		m, pm = m+s.Metres, pm+s.PM
		which = append(which, fmt.Sprintf("%s at %s: %s", s.Bearer, s.Support, s.Why))
	}
	if m == 0 {
		return nil
	}
	return []ScheduleLine{{Item: p.Words.Bearer + " to replace or sister", Figure: numberOf(m), PM: pm, Unit: "m", From: "findings; its ends lie somewhere in the spans beside", Which: which}}
}

func (p Pricing) cutLines() []ScheduleLine {
	var names, unknown []string
	area := 0.0
	for _, c := range p.Cuts {
		names = append(names, c.Name)
		if area += c.AreaM2; c.AreaM2 == 0 {
			unknown = append(unknown, c.Name)
		}
	}
	out := counted("floor cuts", "recorded", names)
	if area > 0 {
		out = append(out, ScheduleLine{Item: "area of floor cuts", Figure: numberOf(area), Unit: "m²", From: "their outlines on the plan"})
	}
	if len(unknown) > 0 {
		out = append(out, ScheduleLine{Item: "area of floor cuts without an outline", Unit: "m²", From: "nobody recorded it", Which: unknown})
	}
	return out
}

func (p Pricing) tieLines() (out []ScheduleLine) {
	var trades []string
	by := map[string][]string{}
	for _, t := range p.Ties {
		if _, known := by[t.Trade]; !known {
			trades = append(trades, t.Trade)
		}
		by[t.Trade] = append(by[t.Trade], t.Name)
	}
	slices.Sort(trades)
	for _, trade := range trades {
		out = append(out, counted("ties, "+cmp.Or(trade, "trade not said"), "recorded", by[trade])...)
	}
	return out
}

// access is how one gets under the floor, and how often all is gone round.
func (p Pricing) access() []ScheduleLine {
	out := counted("hatches", "the plan", p.Hatches)
	if len(out) == 0 {
		out = append(out, ScheduleLine{Item: "hatches", Unit: "no.", From: "the plan shows none: cut a floor, or nobody recorded them"})
	}
	room := ScheduleLine{Item: "room from the ground to the timber", Unit: "mm", From: "nobody recorded it"}
	if p.RoomMM > 0 {
		room.Figure, room.From = numberOf(p.RoomMM), p.Words.Say("the last look under the floor")
	}
	out = append(out, room)
	out = append(out, counted("places nobody could get to", "readings", p.CannotGet)...)
	return append(out, ScheduleLine{Item: "rounds expected", Figure: p.Rounds, Unit: "no.", From: p.RoundsBy})
}

// areaOf is what an outline encloses, m², by the shoelace formula.
func areaOf(outline []events.Position) float64 {
	sum := 0.0
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		sum += float64(a[0]*b[1]) - float64(b[0]*a[1])
	}
	return math.Abs(sum) / 2
}
