package jobs

import (
	"fmt"
	"math"
	"slices"

	"relevel/events"
	"relevel/levelling"
)

// Proposal is a stop that what was recorded speaks for. Somebody decides: it is
// gone once a stop was recorded there, or a note that answers it, which says that
// somebody looked, or once what it rests on is read again and is right.
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

// propose says that what an event recorded speaks for a stop at some supports, or
// of the whole job where it names none. It stands against no recording.
func (s *State) propose(e placed, about, why string, supports []string) {
	s.withdraw(about)
	s.proposals = append(s.proposals, proposal{about, Proposal{Why: why, Supports: slices.Clone(supports), ID: e.ID, Seq: e.Seq}})
	s.flag(e, why+": stop and look")
	s.touch(e, supports...)
}

func (s *State) withdraw(about string) {
	s.proposals = slices.DeleteFunc(s.proposals, func(p proposal) bool { return p.about == about })
}

// stoppedAt ends the proposals of stops that a stop at some supports answers; one
// that names none answers all.
func (s *State) stoppedAt(supports []string) {
	s.answer(func(p proposal) bool {
		return len(supports) == 0 || len(p.Supports) == 0 ||
			slices.ContainsFunc(p.Supports, func(id string) bool { return slices.Contains(supports, id) })
	})
}

// lookedInto ends the proposal that rests on an event.
func (s *State) lookedInto(event events.ID) {
	s.answer(func(p proposal) bool { return p.ID == event })
}

// answer ends proposals because somebody decided. From then on a crack grows anew.
func (s *State) answer(is func(proposal) bool) {
	s.proposals = slices.DeleteFunc(s.proposals, func(p proposal) bool {
		if is(p) {
			s.lists.settle(p.about)
			return true
		}
		return false
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
