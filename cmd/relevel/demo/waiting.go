package demo

import (
	"relevel/cmd/relevel/demo/pictures"
	"relevel/events"
)

// tellWaiting is a job that was surveyed and agreed on, and has stopped before
// the first lift: somebody has to look at an old packer first.
func tellWaiting(s *story) {
	s.day(5, 9, 0)
	s.Survey(s.DrawOver())
	s.Record(events.KindNote, &events.Note{Text: "The parlour door drags on the carpet."},
		Photo{pictures.Room{Name: "kitchen", OffMM: 22}, "kitchen", events.Before},
		Photo{pictures.Staff{Place: "B2-3", StaffMM: 1232}, "B2-3", events.Before})
	s.day(3, 15, 0)
	s.Record(events.KindAim, &events.Aim{
		Aim: events.AimHighest, Face: events.FloorFace, Tolerance: LevelEnough(4),
		StepMM: 8, NeighbourMM: 10, MaxOut: 1, LeftOut: []string{"B3-1"}, RestHours: 24, AgreedBy: "the owner",
	})
	s.day(1, 8, 0)
	s.Condition(map[string]string{"parlour": "hairline cracks at both windows"})
	s.Gap("parlour, left window", "window", 0.8, 2, Photo{pictures.Crack{Where: "at the parlour window", WidthMM: 0.8}, "parlour", events.Before})
	s.SafetyCheck("RD", s.crew.Hand.Name)
	s.SetUp(Below)
	s.Read(events.BearerFace, s.Supports("B1", "B2")...)
	s.Record(events.KindReading, &events.Reading{Point: "B3-4", NotRead: "rubbish in the way, to be cleared"})
	s.CloseSetUp()
	s.Record(events.KindTie, &events.Tie{Tie: "porch", What: "porch slab cast against the bearer", Where: "back door", Supports: []string{"B3-1", "B3-2"}, Trade: "mason"})
	s.Record(events.KindFinding, &events.Finding{What: "sunk", HowBad: "22 mm", Cause: "downpipe empties beside the stumps", Supports: []string{"B2-2", "B2-3", "B2-4"}, Trade: "plumber"},
		Photo{pictures.Stump{Support: "B2-3", Fault: "sunk, wet ground", Wet: true}, "B2-3", events.Before})
	s.Record(events.KindStop, &events.Stop{Why: "an old packer at B1-3 may be asbestos sheet: nobody touches it", Supports: []string{"B1-3"}, Ask: "the assessor"})
	s.GoneHome("hatch closed")
}
