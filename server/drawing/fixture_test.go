package drawing

import (
	"fmt"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// everyState is a house with four bearers and 28 supports, between them in
// every state there is, with butted and other joins, datums near and far,
// rooms, walls, a hearth, doors and a hatch.
func everyState() jobs.Picture {
	plan := events.Plan{Street: events.Bottom}
	ys := []float64{0.4, 2.4, 4.4, 6.4}
	for b, y := range ys {
		bearer := events.Bearer{ID: fmt.Sprintf("B%d", b+1), WidthMM: 100, DepthMM: 75}
		for i := range 7 {
			id := fmt.Sprintf("B%d-%d", b+1, i+1)
			x := 0.3 + 1.5*float64(i)
			if b == 1 && i >= 4 {
				x -= 1.5 // butted at the fourth
			}
			if b == 1 && i == 4 {
				x += 0.15
			}
			plan.Supports = append(plan.Supports, events.Support{ID: id, X: x, Y: y, Sort: "stump"})
			bearer.Supports = append(bearer.Supports, id)
		}
		plan.Bearers = append(plan.Bearers, bearer)
	}
	plan.Bearers[1].Joins = []events.Join{{At: "B2-4", Other: "B2-5", Sort: events.Butted}}
	plan.Bearers[2].Joins = []events.Join{{At: "B3-4", Sort: events.Halved}}
	plan.Datums = []events.Datum{{ID: "D1", X: -1, Y: 3.2, StandsOn: "old brick pier"}, {ID: "D2", X: 18, Y: 9}}
	plan.Spots = []events.Spot{{ID: "hearth", X: 6.9, Y: 5.5}}
	plan.Rooms = []events.Room{
		{Name: "Front room", Outline: []events.Position{{0, 0}, {4.5, 0}, {4.5, 3.4}, {0, 3.4}}},
		{Name: "Bedroom <1>", Outline: []events.Position{{4.5, 0}, {9.6, 0}, {9.6, 3.4}, {4.5, 3.4}}},
		{Name: "Kitchen", Outline: []events.Position{{0, 3.4}, {5.8, 3.4}, {5.8, 6.8}, {0, 6.8}}},
		{Name: "Bath", Wet: true, Outline: []events.Position{{5.8, 3.4}, {9.6, 3.4}, {9.6, 6.8}, {5.8, 6.8}}},
	}
	plan.Walls = []events.Wall{
		{From: events.Position{0, 0}, To: events.Position{9.6, 0}, Masonry: true},
		{From: events.Position{9.6, 0}, To: events.Position{9.6, 6.8}},
		{From: events.Position{9.6, 6.8}, To: events.Position{0, 6.8}},
		{From: events.Position{0, 6.8}, To: events.Position{0, 0}},
		{From: events.Position{0, 3.4}, To: events.Position{9.6, 3.4}, Roof: true},
	}
	plan.Fixed = []events.Thing{{Name: "Hearth", Outline: []events.Position{{6.4, 4.9}, {7.4, 4.9}, {7.4, 5.8}, {6.4, 5.8}}}}
	plan.Doors = []events.Thing{{Name: "Front door", Outline: []events.Position{{2.6, 0}, {3.4, 0}}}}
	plan.Hatches = []events.Thing{{Name: "Hatch", Outline: []events.Position{{8.4, 5.0}, {9.1, 5.0}, {9.1, 5.6}, {8.4, 5.6}}}}
	plan.Joists = &events.Joists{DirectionDeg: 90, SpacingMM: 450}
	p := jobs.Picture{Plan: plan, Cuts: []jobs.Cut{
		{Name: "hall", Outline: []events.Position{{3.6, 4.6}, {4.6, 4.6}, {4.6, 5.4}, {3.6, 5.4}}},
		{Name: "bath", Outline: []events.Position{{7.8, 3.6}, {8.6, 3.6}, {8.6, 4.2}, {7.8, 4.2}}, Covered: true},
	}}
	for i, s := range plan.Supports {
		p.Supports = append(p.Supports, stand(i, s))
	}
	for _, d := range plan.Datums {
		p.Datums = append(p.Datums, jobs.Datum{ID: d.ID, X: d.X, Y: d.Y, StandsOn: d.StandsOn, Height: &jobs.Figure{MM: 1000}})
	}
	for _, s := range plan.Spots {
		p.Spots = append(p.Spots, jobs.Spot{ID: s.ID, X: s.X, Y: s.Y})
	}
	return p
}

var signer = events.ID{1}

// stand puts one support into a state by its number.
func stand(i int, at events.Support) jobs.Support {
	lift := float64((i*7)%46) - 3
	target := 1500.0
	s := jobs.Support{
		ID: at.ID, X: at.X, Y: at.Y, Sort: at.Sort, State: jobs.IsRead, Basis: jobs.WasRead,
		Target: &target, Remaining: &jobs.Figure{MM: lift, SD: 1.1},
		AsFound: &jobs.Figure{MM: target - lift - 10, SD: 1}, Present: &jobs.Figure{MM: target - lift, SD: 1},
		ToGo: levelling.Millimetre.ShowSigned(lift) + " to go",
	}
	final := &jobs.Packer{Sort: events.Final, MM: 6 + float64(i)*2, FullWidth: true}
	states := []func(){
		func() { s.State, s.Present, s.Remaining, s.ToGo, s.Basis = jobs.IsFound, nil, nil, "", "" },
		func() {},
		func() { s.State, s.OnJack, s.Basis, s.Remaining.SD = jobs.OnJack, true, jobs.IsExpected, 2.3 },
		func() { s.State, s.Packer = jobs.OnTemporary, &jobs.Packer{Sort: events.Temporary, MM: 12} },
		func() { s.State, s.OnBlock = jobs.OnBlocking, true },
		func() { s.State, s.Out, s.OnBlock = jobs.IsOut, true, true },
		func() { s.State, s.OnJack, s.Packer = jobs.IsPacked, true, final },
		func() { s.State, s.Packer = jobs.IsDown, final },
		func() { s.State, s.Packer, s.Fixed = jobs.IsFixed, final, true },
		func() {
			s.State, s.Packer, s.Fixed, s.Signature = jobs.IsSigned, final, true, &jobs.Signature{By: signer}
			s.Remaining.MM = 0
		},
		func() {
			s.State, s.Packer, s.Fixed = jobs.HasLapsed, final, true
			s.Signature = &jobs.Signature{By: signer, Lapsed: "B2-2 moved"}
		},
		func() { s.State, s.Stopped = jobs.IsStopped, true },
		func() { s.Doubt = "about 10 mm from what the last two say" },
		func() { s.LeftOut = true },
	}
	if i == 27 {
		s.State, s.NoneHere, s.Present, s.Remaining = jobs.NotThere, true, nil, nil
		return s
	}
	states[i%len(states)]()
	return s
}

func testOptions(turn int) Options {
	return Options{
		Turn:     turn,
		Link:     func(id string) string { return "/jobs/1/supports/" + id },
		Initials: func(events.ID) string { return "MK" },
		Words:    jobs.Australia.Words(),
	}
}
