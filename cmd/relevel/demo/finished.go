package demo

import (
	"relevel/cmd/relevel/demo/pictures"
	"relevel/events"
)

// tellFinished is a job from the survey to the hand-over.
func tellFinished(s *story) {
	s.day(44, 9, 0)
	s.Survey()
	s.Record(events.KindNote, &events.Note{Text: "The kitchen falls to the washhouse."},
		Photo{pictures.Room{Name: "kitchen", OffMM: 18}, "kitchen", events.Before})
	s.day(43, 15, 0)
	s.Record(events.KindAim, &events.Aim{
		Aim: events.AimLevel, Face: events.FloorFace, Height: mm(2), Tolerance: LevelEnough(3),
		StepMM: 10, NeighbourMM: 12, MaxOut: 1, RestHours: 12, AgreedBy: "the owner",
	})
	prepareVeranda(s)
	liftVeranda(s)
	handOverVeranda(s)
}

func prepareVeranda(s *story) {
	s.day(41, 8, 0)
	s.Condition(nil)
	s.SafetyCheck("HD", s.crew.Hand.Name)
	s.SetUp(Below)
	s.Read(events.BearerFace, s.Supports()...)
	s.CloseSetUp()
	gutter := s.Record(events.KindFinding, &events.Finding{What: "sunk", Cause: "gutter over the washhouse leaks", Supports: []string{"B2-3", "B3-3"}, Trade: "plumber"},
		Photo{pictures.Stump{Support: "B2-3", Fault: "sunk, wet ground", Wet: true}, "B2-3", events.Before})
	s.Record(events.KindTie, &events.Tie{Tie: "water", What: "water pipe to the washhouse", Supports: []string{"B3-3", "B3-4"}, Trade: "plumber"})
	s.day(39, 9, 0)
	s.Record(events.KindFindingClosed, &events.FindingClosed{Finding: gutter, How: "gutter renewed and falls away from the house"})
	s.Record(events.KindTieFreed, &events.TieFreed{Tie: "water", How: "flexible length put in", Trade: "plumber"})
}

func liftVeranda(s *story) {
	all := s.Supports()
	for i, more := range []int{1, 0} {
		s.day(38-i, 7, 30)
		s.SafetyCheck("HD", s.crew.Hand.Name)
		s.SetUp(Below)
		s.Round(more, all...)
		s.CloseSetUp()
		s.GoneHome("packing checked at every support")
	}
	s.day(36, 7, 30)
	s.SafetyCheck("HD", s.crew.Hand.Name)
	s.SetUp(Below)
	for _, id := range all {
		s.Finish(id, Bedding)
	}
	s.Record(events.KindNote, &events.Note{Supports: []string{"B2-3"}},
		Photo{pictures.Gap{Support: "B2-3", GapMM: 34, Loose: true}, "B2-3", events.During},
		Photo{pictures.Gap{Support: "B2-3", GapMM: 34, Final: true, Fixed: true}, "B2-3", events.After})
	s.CloseSetUp()
	s.GoneHome("jacks away")
}

func handOverVeranda(s *story) {
	s.day(34, 8, 0)
	s.Fix(s.Supports()...)
	s.SetUp(Above)
	s.SignAll(s.Supports()...)
	s.Record(events.KindSigned, &events.Signed{Floor: true})
	s.Record(events.KindTieBack, &events.TieBack{Tie: "water", Tested: "no drip after an hour at full pressure", Trade: "plumber"})
	s.day(33, 10, 0)
	s.Read(events.FloorFace, "B2-3", "hall door", "B3-2")
	s.CloseSetUp()
	handover := &events.Handover{
		Date: s.date(33), Present: "the owner, the site lead", Papers: "level book, photos, care sheet",
		Care: "keep the gutter clear, look at the vents twice a year", ComeBack: []string{s.date(5), s.date(-150), s.date(-330)},
	}
	for _, place := range []string{"B2-3", "hall door", "B3-2"} {
		handover.OwnersPlaces = append(handover.OwnersPlaces, events.Witnessed{Point: place, Reading: s.readings[place]})
	}
	s.Record(events.KindHandover, handover, Photo{pictures.Room{Name: "kitchen", OffMM: 1, After: true}, "kitchen", events.After})
	comeBack(s)
}

// comeBack is the first visit after the hand-over: everything is read again.
func comeBack(s *story) {
	s.day(5, 10, 0)
	s.SetUp(Above)
	s.Read(events.FloorFace, s.Supports()...)
	s.Read(events.FloorFace, s.Spots()...)
	s.CloseSetUp()
	s.Record(events.KindNote, &events.Note{Text: "First visit after the hand-over: nothing has moved, the gutter is clear."})
}
