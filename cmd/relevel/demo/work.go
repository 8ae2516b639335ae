package demo

import (
	"math"

	"relevel/events"
	"relevel/server/web"
)

// What a crew on an invented job does each day, and over and over.

// Below is about how far under the front door's floor the laser stands when the
// crew works from below, and Above how far over it; mm.
const (
	Below = -450
	Above = 1210
)

// Survey reads the floor from above, at every support and spot. The photos are those
// that its plan was drawn from.
func (s *Site) Survey(photos ...Photo) {
	s.Record(events.KindPlan, &s.House.Plan, photos...)
	s.SetUp(Above)
	s.Read(events.FloorFace, s.Supports()...)
	s.Read(events.FloorFace, s.Spots()...)
	s.CloseSetUp()
}

// SafetyCheck strikes off today's sentences before anybody goes below.
func (s *Site) SafetyCheck(initials, atHatch string) {
	check := &events.SafetyCheck{AtHatch: atHatch}
	for _, sentence := range web.SafetySentences() {
		check.Sentences = append(check.Sentences, events.Initialled{Sentence: sentence, Initials: initials})
	}
	s.Record(events.KindSafetyCheck, check)
}

// Condition records every room before the first lift.
func (s *Site) Condition(walls map[string]string) {
	for _, r := range s.House.Plan.Rooms {
		seen := walls[r.Name]
		if seen == "" {
			seen = "no cracks seen"
		}
		s.Record(events.KindCondition, &events.Condition{Room: r.Name, Walls: seen, Ceiling: "sound", Present: "the owner"})
	}
}

// Gap measures a crack or another gap.
func (s *Site) Gap(gap, what string, widthMM, watchMM float64, photos ...Photo) {
	width, watch := events.MM(widthMM), events.MM(watchMM)
	s.Record(events.KindGapReading, &events.GapReading{Gap: gap, What: what, Width: &width, Watch: &watch}, photos...)
}

// Raise brings a support up by about so many mm, follows with temporary packing
// and lets the jack down onto it, so that the jack can go on along the bearer.
func (s *Site) Raise(support string, meantMM float64, photos ...Photo) {
	s.Jack(support, meantMM, photos...)
	s.PackTemporary(support)
	s.JackDown(support)
}

// leastMove is the smallest lift worth a jack, mm.
const leastMove = 2

// Round goes once over some supports and reads each from below after its move.
// So many more rounds are to come after it.
func (s *Site) Round(more int, supports ...string) {
	for _, id := range supports {
		s.Lift(id, more)
		s.Read(events.BearerFace, id)
	}
}

// Lift raises a support by its share of what is left, if that is worth a jack:
// so many more rounds are to come, and no move exceeds the agreed step.
func (s *Site) Lift(support string, more int) {
	if move := s.share(support, more); move >= leastMove {
		s.Raise(support, move)
	}
}

// share is how far a support goes in this round, by what its book says is left.
func (s *Site) share(support string, more int) float64 {
	at := s.Support(support)
	if at.Remaining == nil {
		return 0
	}
	return math.Min(at.Remaining.MM/float64(more+1), s.step())
}

func (s *Site) step() float64 {
	if aim := s.Picture().Aim; aim != nil && aim.Agreed.StepMM > 0 {
		return aim.Agreed.StepMM
	}
	return math.Inf(1)
}

// Finish brings a support to its target and so much above as its packer is
// expected to bed in, cuts one packer to the gap, lets the jack down onto it
// and reads what came of it. It returns the packer's thickness.
func (s *Site) Finish(support string, allowMM float64, photos ...Photo) float64 {
	left := 0.0
	if at := s.Support(support); at.Remaining != nil {
		left = at.Remaining.MM
	}
	s.Jack(support, math.Max(left+allowMM, 1))
	packer := s.PackFinal(support, photos...)
	s.JackDown(support)
	s.Read(events.BearerFace, support)
	return packer
}

// Bedding is what crews here allow for a new packer, mm: what the saw leaves and
// what the timber gives.
const Bedding = 1

// Replace takes a support out with its load on blocking, and records the new
// pad until it is poured. It carries from a date.
func (s *Site) Replace(support, place, carriesFrom string) {
	s.TakeOut(support, place)
	s.Step(support, events.Dug, "450 x 450, 300 deep, on firm clay")
	s.Record(events.KindInspection, &events.Inspection{Who: "the council's inspector", Stage: "hole before the pour", Answer: "passed", Supports: []string{support}})
	s.Step(support, events.SeenInspector, "")
	s.Step(support, events.Poured, "")
	s.Step(support, events.CarriesFrom, carriesFrom)
}

// TakeOut puts a support's load on blocking, with that of the other half of a
// butted join that stands on it, and takes the support out.
func (s *Site) TakeOut(support, place string, photos ...Photo) {
	s.Record(events.KindBlocking, &events.Blocking{
		Place: place, Supports: s.Floor.Sharing(support), What: "crossed hardwood, four layers", Base: "two sole plates on firm clay", CheckedBy: s.By,
	})
	s.Record(events.KindSupportWork, &events.SupportWork{Support: support, Step: events.TakenOut}, photos...)
}

// SetNew sets the new support on its pad and takes the blocking away.
func (s *Site) SetNew(support, place string) {
	s.Step(support, events.Set, "")
	s.Floor.Renew(support, 14)
	s.Step(support, events.Capped, "ant cap bedded")
	s.Record(events.KindBlockingRemoved, &events.BlockingRemoved{Place: place})
}

// Fix fixes supports to their bearers.
func (s *Site) Fix(supports ...string) {
	for _, id := range supports {
		s.Step(id, events.Refixed, "strap, four nails")
	}
}

// SignAll reads supports on the floor and signs each.
func (s *Site) SignAll(supports ...string) {
	for _, id := range supports {
		s.Read(events.FloorFace, id)
		s.Sign(id)
	}
}

// GoneHome ends a day.
func (s *Site) GoneHome(done string, left ...string) {
	s.Record(events.KindDayEnd, &events.DayEnd{Left: left, Done: done, Out: true})
}
