package jobs

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// PriceAsk is what somebody who prices decides beside what is recorded.
type PriceAsk struct {
	Choice  *Choice  // an aim that is not agreed; nil: the agreed one
	Words   Words    // the firm's
	StepMM  float64  // of the firm's practice, where no aim is agreed
	Replace []string // supports to replace; nil: as the findings say
	Pour    Pour
	Soil    string // what the pads stand on; "" is not said
	Now     time.Time
}

// beyondPacking are the words of findings after which a support is replaced and
// not packed (common practice, no source). Who prices may say otherwise.
var beyondPacking = []string{"gone", "rot", "split", "lean", "sunk", "sank", "eaten", "crush", "broken"}

// Pricing gathers what a schedule is reckoned with.
func (s *State) Pricing(ask PriceAsk, all []Entry) Pricing {
	pic := s.Picture(ask.Now)
	p := Pricing{Words: ask.Words, Rooms: roomNames(pic.Plan.Rooms)}
	counting := Counting(all)
	findings := openFindings(pic, counting)
	for _, one := range pic.Supports {
		if one.NoneHere {
			continue
		}
		priced := PricedSupport{ID: one.ID, Room: pic.RoomAt(one.X, one.Y), Replace: replacing(one, findings)}
		if ask.Replace != nil {
			priced.Replace = decided(one.ID, priced.Replace, ask.Replace)
		}
		priced.aimed(one, pic.Aim, ask.Choice)
		if priced.Replace != "" {
			s.padFor(&priced, ask)
		}
		p.Supports = append(p.Supports, priced)
	}
	p.Stretches = s.stretches(pic, findings)
	p.take(pic, counting)
	p.aimWords(pic, ask, s.units)
	return p
}

func roomNames(rooms []events.Room) (names []string) {
	for _, r := range rooms {
		names = append(names, r.Name)
	}
	return names
}

// RoomAt is the room in which a place lies, "" where it lies in none.
func (p Picture) RoomAt(x, y float64) string {
	for _, r := range p.Plan.Rooms {
		if inside(r.Outline, x, y) {
			return r.Name
		}
	}
	return ""
}

// openFindings are the findings that nothing closed yet.
func openFindings(p Picture, counting []Entry) (out []events.Finding) {
	open := map[events.ID]bool{}
	for _, it := range p.Lists.Findings {
		open[it.ID] = it.Open
	}
	for _, e := range counting {
		if f, is := e.Body.(*events.Finding); is && open[e.ID] {
			out = append(out, *f)
		}
	}
	return out
}

// ofBearer tells whether a finding speaks of the timber over the supports that it
// names, and not of them.
func ofBearer(f events.Finding) bool {
	said := strings.ToLower(f.What + " " + f.Where)
	return strings.Contains(said, "bearer") || strings.Contains(said, "girder")
}

// replacing says why a support is beyond packing, "" where nothing says so.
func replacing(s Support, findings []events.Finding) string {
	for _, f := range findings {
		if !ofBearer(f) && slices.Contains(f.Supports, s.ID) && isBeyond(f.What) {
			return f.What
		}
	}
	if len(s.Renewal) > 0 {
		return "it is being replaced"
	}
	return ""
}

func isBeyond(what string) bool {
	what = strings.ToLower(what)
	return slices.ContainsFunc(beyondPacking, func(word string) bool { return strings.Contains(what, word) })
}

// decided is why a support is replaced where somebody has said which are.
func decided(id, why string, replace []string) string {
	if !slices.Contains(replace, id) {
		return ""
	}
	return cmp.Or(why, "decided for this price")
}

// aimed says what an aim asks of a support. From the agreed one it is the whole
// lift from as found, so that a price is the same after the work has begun.
func (p *PricedSupport) aimed(s Support, aim *Aim, choice *Choice) {
	if s.LeftOut && choice == nil {
		p.LeftOut = "left out"
		if why := aim.Agreed.WhyLeftOut(s.ID); why != "" {
			p.LeftOut = why
		}
		return
	}
	before := cmp.Or(s.AsFound, s.Survey, s.Present)
	p.Unread = before == nil
	switch {
	case choice != nil:
		for _, t := range choice.Lifts {
			if t.ID == s.ID && s.Present != nil {
				p.Lift = &Figure{t.LiftMM, s.Present.SD}
			}
		}
	case s.Target != nil && before != nil:
		p.Lift = &Figure{*s.Target - before.MM, before.SD}
	}
}

// padFor sizes the new pad of a support, as far as somebody said on what ground
// and how thick.
func (s *State) padFor(p *PricedSupport, ask PriceAsk) {
	load, known := s.LoadOn(p.ID, ask.Pour)
	at := slices.IndexFunc(load.Pads, func(size PadSize) bool { return size.Soil == ask.Soil })
	switch {
	case !known:
		p.PadBy = "the plan does not tell how much floor it carries"
	case ask.Soil == "":
		p.PadBy = "nobody said what ground it stands on"
	case at < 0 || load.Pads[at].KPa == 0:
		p.PadBy = "that ground is for an engineer"
	case ask.Pour.ThicknessMM <= 0:
		p.PadBy = "nobody said how thick it is"
	case load.Pads[at].VolumeM3 == 0:
		p.PadBy = "a pad so thick weighs as much as the ground carries"
	default:
		p.PadM3, p.Bags, p.PadBy = load.Pads[at].VolumeM3, load.Pads[at].Bags, load.Pads[at].Source
	}
}

// stretches are the lengths of bearer that findings speak of. Of each support that
// one names it takes half of the spans beside it; whether it ends before or after
// the half span beyond the outermost ones nobody knows, so that is its ±.
func (s *State) stretches(pic Picture, findings []events.Finding) (out []BearerRun) {
	taken := map[string]bool{}
	for _, f := range findings {
		if !ofBearer(f) {
			continue
		}
		for _, g := range s.floor.girders {
			for i, id := range g.supports {
				if !slices.Contains(f.Supports, id) || taken[id] {
					continue
				}
				taken[id] = true
				at, _ := pic.Support(id)
				one := BearerRun{Bearer: g.bearer, Support: id, Room: pic.RoomAt(at.X, at.Y), Metres: g.share(i), Why: f.What}
				if i > 0 && !slices.Contains(f.Supports, g.supports[i-1]) {
					one.PM += float64(g.spans[i-1] / 2)
				}
				if i < len(g.spans) && !slices.Contains(f.Supports, g.supports[i+1]) {
					one.PM += float64(g.spans[i] / 2)
				}
				out = append(out, one)
			}
		}
	}
	return out
}

// take gathers what is recorded of cuts, ties and the way below.
func (p *Pricing) take(pic Picture, counting []Entry) {
	p.takeCuts(pic, counting)
	for _, t := range Ties(counting) {
		p.Ties = append(p.Ties, PricedTie{t.Tie.Tie, p.roomOf(pic, t.Tie.Where, nil, t.Tie.Supports), t.Trade})
	}
	p.takeUnread(counting)
	for i, h := range pic.Plan.Hatches {
		p.Hatches = append(p.Hatches, cmp.Or(h.Name, fmt.Sprintf("hatch %d", i+1)))
	}
	if pic.Below != nil {
		p.RoomMM = pic.Below.ClearanceMM
	}
}

// takeCuts keeps each cut as it was drawn last.
func (p *Pricing) takeCuts(pic Picture, counting []Entry) {
	known := map[string]int{}
	for _, e := range counting {
		b, is := e.Body.(*events.FloorCut)
		if !is {
			continue
		}
		cut := PricedCut{b.Cut, p.roomOf(pic, b.Where, b.Outline, nil), areaOf(b.Outline)}
		if at, again := known[b.Cut]; again {
			p.Cuts[at] = cut
			continue
		}
		known[b.Cut] = len(p.Cuts)
		p.Cuts = append(p.Cuts, cut)
	}
}

// takeUnread keeps the places that could not be read when somebody tried last, and why.
func (p *Pricing) takeUnread(counting []Entry) {
	why := map[string]string{}
	var order []string
	for _, e := range counting {
		b, is := e.Body.(*events.Reading)
		if !is {
			continue
		}
		if _, known := why[b.Point]; !known {
			order = append(order, b.Point)
		}
		why[b.Point] = b.NotRead
	}
	for _, id := range order {
		if why[id] != "" {
			p.CannotGet = append(p.CannotGet, id+": "+why[id])
		}
	}
}

// roomOf is the room that something lies in, by its words, its outline or the first of
// its supports; "" where nothing tells.
func (p *Pricing) roomOf(pic Picture, where string, outline []events.Position, supports []string) string {
	switch {
	case slices.Contains(p.Rooms, where):
		return where
	case len(outline) > 0:
		x, y := middle(outline)
		return pic.RoomAt(x, y)
	case len(supports) > 0:
		at, _ := pic.Support(supports[0])
		return pic.RoomAt(at.X, at.Y)
	}
	return ""
}

func middle(outline []events.Position) (x, y float64) {
	for _, at := range outline {
		x, y = x+at[0]/float64(len(outline)), y+at[1]/float64(len(outline))
	}
	return x, y
}

// aimWords says which aim is priced, and how many rounds it takes as far as
// anybody can tell.
func (p *Pricing) aimWords(pic Picture, ask PriceAsk, u levelling.Unit) {
	switch {
	case ask.Choice != nil:
		p.Aim = ask.Choice.Words + ", not agreed"
	case pic.Aim != nil:
		p.Aim = pic.Aim.Words
	}
	if ask.Choice == nil && pic.Rounds != nil {
		if len(pic.Rounds.Ask) > 0 {
			p.RoundsBy = "to be set first: " + joinWords(pic.Rounds.Ask)
			return
		}
		p.Rounds, p.RoundsBy = numberOf(float64(pic.Rounds.Left)), "the agreed step and neighbour limit, from how the floor lies now"
		return
	}
	most := 0.0
	for _, s := range p.Supports {
		if s.Lift != nil {
			most = math.Max(most, s.Lift.MM)
		}
	}
	if ask.StepMM <= 0 {
		p.RoundsBy = "the most that one move may be is not set"
		return
	}
	p.Rounds, p.RoundsBy = numberOf(math.Ceil(most/ask.StepMM-1e-9)), fmt.Sprintf("the greatest lift over the firm’s step of %s: no fewer", u.ShowWith(ask.StepMM))
}
