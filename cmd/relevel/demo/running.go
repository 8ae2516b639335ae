package demo

import (
	"relevel/cmd/relevel/demo/pictures"
	"relevel/events"
)

// tellRunning is the main job, under way: two bearers signed, one on its final
// packers, and this morning one support on a jack and one out on blocking.
func tellRunning(s *story) {
	surveyLongHall(s)
	lookBelow(s)
	makeSafe(s)
	firstRound(s)
	secondRound(s)
	finishFront(s)
	signFront(s)
	thisMorning(s)
}

// surveyLongHall reads the floor from above and agrees how level is level enough.
func surveyLongHall(s *story) {
	s.day(13, 8, 10)
	s.CheckTwoPeg(Laser, 0.03, s.date(15), s.date(-166))
	s.CheckTwoPeg(Level, -0.1, s.date(190), s.date(6))
	s.Survey()
	s.Record(events.KindNote, &events.Note{Text: "The kitchen runs down to the laundry; a marble rolls from the hall to the bath."},
		Photo{pictures.Room{Name: "kitchen", OffMM: 20}, "kitchen", events.Before},
		Photo{pictures.Staff{Place: "B4-5", StaffMM: 1241}, "B4-5", events.Before},
		Photo{pictures.Room{Name: "bedroom", OffMM: 24}, "bedroom", events.Before})
	s.day(11, 16, 30)
	s.Record(events.KindAim, &events.Aim{
		Aim: events.AimLevel, Face: events.FloorFace, Height: mm(3), Tolerance: LevelEnough(3),
		StepMM: 12, NeighbourMM: 12, MaxOut: 1, RestHours: 12, AgreedBy: "the owner",
	})
}

// lookBelow reads the bearers from below before anything moves, and finds out
// why the floor dropped.
func lookBelow(s *story) {
	s.day(10, 7, 40)
	s.Condition(map[string]string{"bedroom": "crack over the door, to the cornice", "kitchen": "tiles loose at the sink"})
	s.Gap("over the bedroom door", "crack", 2.5, 4, Photo{pictures.Crack{Where: "over the bedroom door", WidthMM: 2.5}, "bedroom", events.Before})
	s.Gap("hearth edge, front room", "hearth", 3, 6)
	s.Record(events.KindUnderFloor, &events.UnderFloor{
		Airing: &events.Airing{Rule: "ncc-2022", Zone: "C", WallM: 31.2, FloorM2: 57.6, VentsMM2: []float64{7300, 7300, 7300, 7300, 7300, 7300}},
		Ground: "damp along the back wall", ClearanceMM: 360,
		Moisture: []events.Moisture{{Support: "B4-4", Where: "bearer", Pct: 24}, {Support: "B1-2", Where: "bearer", Pct: 15}},
	})
	s.SafetyCheck("WD", s.crew.Hand.Name)
	s.SetUp(Below)
	s.Read(events.BearerFace, s.Supports()...)
	s.CloseSetUp()
	s.Record(events.KindDifference, &events.Difference{From: "B1-1", To: "B4-1", Face: events.FloorFace, Rise: mm(-3), Method: events.WaterLevel})
	s.Record(events.KindFound, &events.Found{What: events.FoundSpot, ID: "old hearth slab", X: 4.4, Y: 2.7, Note: "edge of a slab that is on no drawing"})
	s.leak = s.Record(events.KindFinding, &events.Finding{
		What: "wet and rotten at the ground", HowBad: "a screwdriver goes in 40 mm", Where: "below the laundry",
		Cause: "leaking trap of the laundry trough", Supports: []string{"B3-5", "B4-5", "B4-6"}, Trade: "plumber", By: s.date(8),
	}, Photo{pictures.Stump{Support: "B4-5", Fault: "rotten at the ground", Wet: true}, "B4-5", events.Before})
	s.Record(events.KindFinding, &events.Finding{What: "leaning", HowBad: "45 mm out of plumb", Cause: "soil dried out under the bedroom wall", Supports: []string{"B2-5"}, Owner: s.crew.Lead.ID, By: s.date(2)},
		Photo{pictures.Stump{Support: "B2-5", Fault: "leaning", Lean: 50}, "B2-5", events.Before})
	vents := s.Record(events.KindFinding, &events.Finding{What: "vents blocked", Where: "back wall", Cause: "garden bed against the wall, no air below", Supports: []string{"B4-3", "B4-4", "B4-5"}, Trade: "the owner", By: s.date(-20)})
	s.Record(events.KindFinding, &events.Finding{Of: vents, Answer: "he clears the bed himself, before the new vents are cut"})
	s.GoneHome("hatch closed")
}

// makeSafe frees the ties, opens the floor and renews one support.
func makeSafe(s *story) {
	s.day(9, 10, 30)
	s.Record(events.KindFindingClosed, &events.FindingClosed{Finding: s.leak, How: "trap and waste renewed, tested with a full trough, dry after an hour"})
	s.Record(events.KindTie, &events.Tie{Tie: "waste", What: "cast waste pipe of the laundry", Where: "back wall", Supports: []string{"B4-5", "B4-6"}, Trade: "plumber"})
	s.Record(events.KindTie, &events.Tie{Tie: "gas", What: "gas line to the stove", Where: "below the kitchen", Supports: []string{"B3-2", "B3-3"}, Trade: "gasfitter"})
	s.Record(events.KindTieFreed, &events.TieFreed{Tie: "waste", How: "cut and sleeved with 40 mm to spare", Trade: "plumber"})
	s.Record(events.KindTieFreed, &events.TieFreed{Tie: "gas", How: "off and capped at the meter", Trade: "gasfitter"})
	s.Record(events.KindFloorCut, &events.FloorCut{
		Cut: "C1", Where: "bathroom, beside the bath", Outline: []events.Position{{5.2, 4.6}, {5.8, 4.6}, {5.8, 5.2}, {5.2, 5.2}},
		Layers: []string{"vinyl", "19 mm boards"}, Services: "none in the joist tops", NoDeeper: mm(19), Joists: "45 mm, sound", BearingMM: 21, Cover: "18 mm ply, screwed",
	}, Photo{pictures.Cut{Name: "C1", Where: "bathroom"}, "C1", events.During})
	s.Replace("B3-5", "K1", s.date(5))
	s.Record(events.KindNote, &events.Note{Text: "New pad at B3-5 poured and covered.", Supports: []string{"B3-5"}},
		Photo{pictures.Pad{Support: "B3-5"}, "B3-5", events.During}, Photo{pictures.Pad{Support: "B3-5", Poured: true}, "B3-5", events.During})
	s.GoneHome("C1 covered, K1 checked twice", "B3-5 out, on blocking K1")
	s.day(5, 8, 0)
	s.SafetyCheck("WD", s.crew.Hand.Name)
	s.SetNew("B3-5", "K1")
	first := s.Record(events.KindChange, &events.Change{Text: "A new stump and pad at B3-5, rotten at the ground", Amount: amount(640), Currency: "AUD"})
	s.Record(events.KindChangeAnswered, &events.ChangeAnswered{Change: first, Accepted: true, Name: "the owner", How: "by phone"})
	s.Record(events.KindChange, &events.Change{Text: "A second new stump and pad, at B4-5: rotten as well", Amount: amount(590), Currency: "AUD"})
}

// firstRound reads the baseline and begins to lift. A crack opens: work stops
// there until the engineer has seen it.
func firstRound(s *story) {
	s.day(4, 7, 15)
	s.SafetyCheck("WD", s.crew.Hand.Name)
	s.SetUp(Below)
	s.Read(events.BearerFace, s.Supports()...)
	s.Round(2, s.Supports("B1", "B2")...)
	stop := s.Record(events.KindStop, &events.Stop{Why: "crack over the bedroom door opened from 2.5 to 3.5 mm", Supports: []string{"B2-4", "B2-5"}, Ask: "the engineer"},
		Photo{pictures.Crack{Where: "over the bedroom door", WidthMM: 3.5}, "bedroom", events.During})
	s.Gap("over the bedroom door", "crack", 3.5, 4)
	s.Round(2, s.Supports("B3", "B4")...)
	s.Record(events.KindGoAhead, &events.GoAhead{Stop: stop, Who: "the engineer, by telephone with photos", Why: "plaster only; go on with half steps at B2-4 and B2-5"})
	s.CloseSetUp()
	s.GoneHome("packing checked at every support")
}

// secondRound has a staff read a decimetre wrong, which the book doubts.
func secondRound(s *story) {
	s.day(3, 7, 20)
	s.SafetyCheck("WD", s.crew.Hand.Name)
	s.By = s.crew.Hand.ID
	s.SetUp(Below)
	s.Round(1, s.Supports("B1", "B2", "B3")...)
	wrong := s.Misread(events.BearerFace, "B3-4", 100)
	s.Void(wrong, "read the wrong decimetre")
	s.Read(events.BearerFace, "B3-4")
	s.Round(1, s.Supports("B4")...)
	s.CloseSetUp()
	s.Record(events.KindIncident, &events.Incident{What: "near miss: a torch fell through the hatch", Where: "hall", Who: "nobody was below it", Done: "lanyards on all torches"})
	s.GoneHome("packing checked at every support")
	s.By = s.crew.Lead.ID
}

// finishFront sets the final packers of the two bearers towards the front.
func finishFront(s *story) {
	s.day(2, 7, 10)
	s.SafetyCheck("WD", s.crew.Hand.Name)
	s.SetUp(Below)
	for _, id := range s.Supports("B1", "B2") {
		if id == "B2-4" {
			s.Finish(id, Bedding, Photo{pictures.Gap{Support: id, GapMM: 41, Final: true, Jack: true}, id, events.After})
			continue
		}
		s.Finish(id, Bedding)
	}
	s.Round(0, s.Supports("B3")...)
	s.CloseSetUp()
	s.Gap("over the bedroom door", "crack", 1.5, 4, Photo{pictures.Crack{Where: "over the bedroom door", WidthMM: 1.5}, "bedroom", events.After})
	s.GoneHome("jacks away from B1 and B2")
}

// signFront fixes the front and signs it after its rest, and packs the next bearer.
func signFront(s *story) {
	s.day(1, 7, 30)
	s.SafetyCheck("WD", s.crew.Hand.Name)
	s.Fix(s.Supports("B1", "B2")...)
	s.SetUp(Above)
	s.SignAll(s.Supports("B1", "B2")...)
	s.CloseSetUp()
	s.Record(events.KindNote, &events.Note{Text: "Front rooms read level.", Supports: []string{"B2-4"}},
		Photo{pictures.Room{Name: "bedroom", OffMM: 1, After: true}, "bedroom", events.After},
		Photo{pictures.Gap{Support: "B2-4", GapMM: 41, Final: true, Fixed: true}, "B2-4", events.After})
	s.SetUp(Below)
	for _, id := range s.Supports("B3")[:4] {
		s.Finish(id, Bedding)
	}
	s.CloseSetUp()
	s.GoneHome("hatch closed, jacks out from below")
}

// thisMorning is how the job stands: one support on the jack, one out, and above
// them a level whose check has run out.
func thisMorning(s *story) {
	s.day(0, 7, 10)
	s.SetUpWith(Level, events.EyeOnTape, Above)
	s.Read(events.FloorFace, "hearth edge", "bath door")
	s.day(0, 7, 30)
	s.SafetyCheck("WD", s.crew.Hand.Name)
	s.SetUp(Below)
	s.Round(0, "B4-1", "B4-2")
	s.TakeOut("B4-5", "K2", Photo{pictures.Blocking{Support: "B4-5", Place: "K2"}, "B4-5", events.During})
	s.Jack("B3-6", s.share("B3-6", 0), Photo{pictures.Gap{Support: "B3-6", GapMM: 38, Jack: true}, "B3-6", events.During})
}

func amount(of float64) *float64 { return &of }
