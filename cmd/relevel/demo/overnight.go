package demo

import "relevel/events"

// tellOvernight is a job whose crew went home yesterday without ending the day: a
// support stands on a jack, nobody said that everybody is out, a finding is late, two
// records are missing and some are still on the phone.
func tellOvernight(s *story) {
	s.day(6, 9, 0)
	s.Survey()
	s.day(5, 15, 0)
	s.Record(events.KindAim, &events.Aim{
		Aim: events.AimLevel, Face: events.FloorFace, Height: mm(2), Tolerance: LevelEnough(3),
		StepMM: 8, NeighbourMM: 10, MaxOut: 1, RestHours: 12, AgreedBy: "the owner",
	})
	s.day(2, 8, 0)
	s.Condition(nil)
	s.SafetyCheck("SD", s.crew.Hand.Name)
	s.SetUp(Below)
	s.Read(events.BearerFace, s.Supports()...)
	s.Record(events.KindFinding, &events.Finding{What: "sunk", Cause: "drain cracked beside the pier", Supports: []string{"B2-3"}, Trade: "drainlayer", By: s.date(1)})
	s.Record(events.KindInspection, &events.Inspection{Who: "the inspector", Stage: "before the first lift", Answer: "passed"})
	s.CloseSetUp()
	s.GoneHome("hatch closed")
	s.day(1, 13, 30)
	s.SafetyCheck("SD", s.crew.Hand.Name)
	s.SetUp(Below)
	s.Round(2, s.Supports("B1")...)
	s.crew.Phone.Lose(2) // a reading and a packing that nobody has heard of yet
	s.Jack("B2-2", s.share("B2-2", 1))
	s.crew.Phone.Unsent = 3
}
