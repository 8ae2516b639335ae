package jobs

import (
	"fmt"
	"math"
	"slices"

	"relevel/events"
	"relevel/levelling"
	"relevel/levelling/underfloor"
)

// Proposal is a stop that what was recorded speaks for. Somebody decides: it is
// gone once a stop was recorded, or a note about it, which says that somebody
// looked, or once what it rests on is read again and is right.
type Proposal struct {
	Why      string    `json:"why"`
	Supports []string  `json:"supports,omitempty"`
	ID       events.ID `json:"id"` // of the event it rests on
	Seq      int64     `json:"seq"`
}

// proposal is one that stands. about names what it is about, so that another
// about the same takes its place.
type proposal struct {
	about string
	Proposal
}

func (s *State) propose(e placed, about, why string, supports []string) {
	s.withdraw(about)
	s.proposals = append(s.proposals, proposal{about, Proposal{Why: why, Supports: slices.Clone(supports), ID: e.ID, Seq: e.Seq}})
	s.flag(e, why+": stop and look")
	s.touch(e, supports...)
}

func (s *State) withdraw(about string) {
	s.proposals = slices.DeleteFunc(s.proposals, func(p proposal) bool { return p.about == about })
}

// answered ends the proposals that a stop or a note about some supports answers;
// one that names none answers all.
func (s *State) answered(supports []string) {
	s.proposals = slices.DeleteFunc(s.proposals, func(p proposal) bool {
		return len(supports) == 0 || len(p.Supports) == 0 ||
			slices.ContainsFunc(p.Supports, func(id string) bool { return slices.Contains(supports, id) })
	})
}

func (s *State) proposalViews() []Proposal {
	var out []Proposal
	for _, p := range s.proposals {
		p.Supports = slices.Clone(p.Supports)
		out = append(out, p.Proposal)
	}
	return out
}

// watched is what is known of one gap that is watched while the floor moves.
type watched struct {
	first float64 // mm
	limit *events.Length
}

// watchGap records the width of a gap, how it grew and, of a crack, its class.
func (s *State) watchGap(e placed, b *events.GapReading) {
	w, seen := s.lists.watch[b.Gap]
	if !seen {
		w.first = b.Width.MM()
	}
	if b.Watch != nil {
		w.limit = b.Watch
	}
	s.lists.watch[b.Gap] = w
	it := s.lists.add(&s.lists.gaps, itemOf(e, b.Gap, gapWords(b, w, seen)))
	it.Supports = b.Supports
	about := "gap " + b.Gap
	switch {
	case w.limit != nil && b.Width.MM() > w.limit.MM():
		it.Open = true
		s.propose(e, about, fmt.Sprintf("%s is %s wide, past its watch limit of %s", b.Gap, lengthWords(*b.Width), lengthWords(*w.limit)), b.Supports)
	case b.What == "crack" && seen && crackClass(b.Width.MM()) > crackClass(w.first):
		it.Open = true
		s.propose(e, about, fmt.Sprintf("%s grew from class %d to %d (%s)", b.Gap, crackClass(w.first), crackClass(b.Width.MM()), underfloor.CrackSource), b.Supports)
	default:
		s.withdraw(about)
	}
}

func gapWords(b *events.GapReading, w watched, seen bool) string {
	words := lengthWords(*b.Width)
	if b.What == "crack" {
		words += fmt.Sprintf(", width class %d (%s)", crackClass(b.Width.MM()), underfloor.CrackSource)
	}
	if grown := b.Width.MM() - w.first; seen && grown != 0 {
		word := "wider"
		if grown < 0 {
			word = "narrower"
		}
		words += fmt.Sprintf(", %g mm %s than at first", math.Abs(math.Round(grown*100)/100), word)
	}
	return sentence(words, b.Near)
}

func crackClass(mm float64) int {
	class, err := underfloor.CrackClass(mm)
	if err != nil {
		return 0
	}
	return class
}

// checkExpected compares what a place did, once a reading of it counts, with what
// the lift beside it led to expect.
func (s *State) checkExpected(e placed, p *place, read, sd float64, g *guess) {
	about := "drift " + p.id
	mean, spread := s.stiffnessOn(s.floor.bearerOf[p.id]).expect(g.mm)
	if off := read - mean; math.Abs(off) > levelling.CriticalValue*rss(sd, spread) {
		s.propose(e, about, fmt.Sprintf("%s is %s what the lift at %s leads one to expect", p.id, apart(off), p.work.moved), []string{p.id})
		return
	}
	s.withdraw(about)
}
