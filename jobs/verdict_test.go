package jobs_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// judged is a floor of two rooms of two supports each, read on the floor face
// at the heights given, with a profile agreed.
func judged(t *testing.T, profile string, heights ...float64) *site {
	s := newSite(t)
	plan := bearerPlan()
	plan.Rooms = []events.Room{
		{Name: "hall", Outline: []events.Position{{-1, -1}, {2.7, -1}, {2.7, 1}, {-1, 1}}},
		{Name: "kitchen", Outline: []events.Position{{2.7, -1}, {6, -1}, {6, 1}, {2.7, 1}}},
	}
	s.record(events.KindPlan, plan)
	u := s.laser(1000)
	for i, h := range heights {
		for range 4 { // four readings each: ± 0.5 and what they share
			s.readOn(events.FloorFace, "", u, plan.Supports[i].ID, 1000-h)
		}
	}
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", Tolerance: events.Tolerance{Profile: profile}})
	return s
}

func TestVerdict(t *testing.T) {
	tests := []struct {
		name, profile string
		heights       []float64
		want          levelling.Verdict
		rooms         []levelling.Verdict // hall, kitchen, the whole
	}{
		{"NSW, all within", "nsw-2017-new", []float64{0, 1, 1, 0}, levelling.Within, []levelling.Verdict{"within", "within", "within"}},
		{"NSW, one room out", "nsw-2017-new", []float64{0, 1, 1, -12}, levelling.Outside, []levelling.Verdict{"within", "outside", "within"}},
		{"NSW, a step between the rooms is no fault of either", "nsw-2017-new", []float64{0, 0, -14, -14}, levelling.Within, []levelling.Verdict{"within", "within", "within"}},
		{"NSW, the footprint out", "nsw-2017-new", []float64{0, 0, -28, -28}, levelling.Outside, []levelling.Verdict{"within", "within", "outside"}},
		{"NSW, too close", "nsw-2017-new", []float64{0, 4, 4, 4}, levelling.TooClose, []levelling.Verdict{"too-close", "within", "within"}},
		{"MBIE indicates", "mbie-canterbury", []float64{0, 0, 0, -60}, levelling.Indicated, []levelling.Verdict{"indicated"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v := judged(t, tt.profile, tt.heights...).picture().Verdict
			if v == nil || v.Verdict != tt.want || v.Source == "" || v.Title == "" {
				t.Fatalf("%+v, want %s with its rule", v, tt.want)
			}
			var rooms []levelling.Verdict
			for _, part := range v.Parts {
				rooms = append(rooms, part.Verdict)
			}
			if !slices.Equal(rooms, tt.rooms) {
				t.Errorf("by room %q, want %q", rooms, tt.rooms)
			}
			if len(v.Below)+len(v.Unread) > 0 {
				t.Errorf("read below %q, not read %q", v.Below, v.Unread)
			}
		})
	}
}

// How well a datum is known above the sea makes no floor less level, and reading
// the floor again would not tell it.
func TestVerdictOnAVagueDatum(t *testing.T) {
	s := newSite(t)
	plan := bearerPlan()
	plan.Datums[0].SDMM = 50
	s.record(events.KindPlan, plan)
	u := s.laser(1000)
	for i, h := range []float64{0, 1, 1, 0} {
		s.readOn(events.FloorFace, "", u, plan.Supports[i].ID, 1000-h)
	}
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", Tolerance: events.Tolerance{Profile: "nsw-2017-new"}})
	p := s.picture()
	if v := p.Verdict; v.Verdict != levelling.Within {
		t.Errorf("%+v, want within", v)
	}
	if at, _ := p.Support("B1-1"); at.Present.SD < 50 {
		t.Errorf("B1-1 itself at %v, want the ± of its datum", at.Present)
	}
}

// Where a place was read only below, or moved since, the verdict says so.
func TestVerdictSaysWhatItRestsOn(t *testing.T) {
	s := judged(t, "nz-1-200", 0, -5, -8)
	u := s.laser(1000)
	s.readOn(events.BearerFace, "", u, "B1-2", 1155)
	s.jack("B1-2", 5)
	s.readOn(events.BearerFace, "", u, "B1-2", 1150)
	v := s.picture().Verdict
	if !slices.Equal(v.Below, []string{"B1-2"}) {
		t.Errorf("read below %q, want B1-2", v.Below)
	}
	if !slices.Contains(v.Unread, "B1-4") || !slices.Contains(v.Unread, "B1-1") || slices.Contains(v.Unread, "B1-2") {
		t.Errorf("not read %q: B1-4 never was, and B1-1 not since its neighbour moved", v.Unread)
	}
}

// The trade between aims: what each costs, which support sets it, what it would
// be without that one, and what each profile would say afterwards.
func TestChoices(t *testing.T) {
	s := judged(t, "nsw-2017-new", 0, -12, -20, -5)
	all := jobs.Refold(s.job, s.log).Choices(0)
	highest := all[0]
	if highest.Aim != events.AimHighest || highest.SetBy != "B1-1" || highest.Cost.TotalMM != 37 || highest.Cost.GreatestMM != 20 || highest.Cost.Moved != 3 {
		t.Errorf("highest: %+v", highest)
	}
	if w := highest.Without; w == nil || w.TotalMM != 22 || w.GreatestMM != 15 {
		t.Errorf("without B1-1: %+v", w)
	}
	for _, v := range highest.After {
		if v.Verdict != levelling.Within && v.Verdict != levelling.NotIndicated {
			t.Errorf("a floor at one height is %s by %s", v.Verdict, v.Title)
		}
	}
	i := slices.IndexFunc(all, func(c jobs.Choice) bool { return c.Aim == events.AimLeast && c.Profile == "nsw-2017-new" })
	if i < 0 {
		t.Fatal("no least lift by the agreed profile")
	}
	least := all[i]
	if least.Cost.TotalMM >= highest.Cost.TotalMM || least.Why != "" || len(least.Chain) == 0 {
		t.Errorf("least: %+v", least)
	}
	j := slices.IndexFunc(least.After, func(v jobs.AfterVerdict) bool { return v.Profile == "nsw-2017-new" })
	if least.After[j].Verdict != levelling.Within {
		t.Errorf("the least lift by a profile is %s by it", least.After[j].Verdict)
	}
	if all := jobs.New(s.job).Choices(0); len(all) != 0 {
		t.Errorf("choices of nothing: %+v", all)
	}
}

// leastBy is the least lift by a profile.
func leastBy(t *testing.T, all []jobs.Choice, profile string) jobs.Choice {
	t.Helper()
	i := slices.IndexFunc(all, func(c jobs.Choice) bool { return c.Aim == events.AimLeast && c.Profile == profile })
	if i < 0 {
		t.Fatalf("no least lift by %q", profile)
	}
	return all[i]
}

// A margin that uses up a limit drops no line: the choice says so, and nothing is
// said of the floor afterwards.
func TestChoicesWithTooWideAMargin(t *testing.T) {
	s := judged(t, "nsw-2017-new", 0, -12, -20, -5)
	state := jobs.Refold(s.job, s.log)
	narrow, wide := state.Choices(0), state.Choices(4)
	if len(wide) != len(narrow) {
		t.Errorf("%d choices with a margin, %d without", len(wide), len(narrow))
	}
	least := leastBy(t, wide, "nsw-2017-new")
	if least.Why != "a margin of 4 mm leaves nothing of a limit of 4 mm" || least.Lifts == nil || len(least.Lifts) > 0 || least.Without != nil {
		t.Errorf("%+v", least)
	}
	if len(least.After) != len(wide[0].After) || slices.ContainsFunc(least.After, func(v jobs.AfterVerdict) bool { return v.Verdict != "" }) {
		t.Errorf("said afterwards: %+v", least.After)
	}
	if mm := leastBy(t, wide, "mbie-canterbury"); mm.Why != "" || mm.Cost.Moved == 0 {
		t.Errorf("4 mm off limits of centimetres: %+v", mm)
	}
}

// A cap below what the others force cannot be met, and nothing is promised of
// the floor afterwards.
func TestChoicesThatCannotBeMet(t *testing.T) {
	s := judged(t, "nsw-2017-new", 0, -12, -20, -5)
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", Tolerance: events.Tolerance{Profile: "nsw-2017-new"}, Caps: []events.Cap{{Support: "B1-3", MM: 2}}})
	all := jobs.Refold(s.job, s.log).Choices(0)
	for _, c := range []jobs.Choice{all[0], leastBy(t, all, "nsw-2017-new")} {
		if !strings.Contains(c.Why, "B1-3") || slices.ContainsFunc(c.After, func(v jobs.AfterVerdict) bool { return v.Verdict != "" }) {
			t.Errorf("%s: why %q, afterwards %+v", c.Words, c.Why, c.After)
		}
	}
	if least := leastBy(t, all, "nsw-2017-new"); len(least.Chain) == 0 || least.Chain[len(least.Chain)-1].To != "B1-3" {
		t.Errorf("the chain does not lead to the one that is capped: %+v", least.Chain)
	}
}

// The firm's own profiles are among the choices and among those that judge; what
// was agreed counts before what the firm calls by that name by now.
func TestChoicesByTheFirmsOwn(t *testing.T) {
	own := jobs.Profile{Name: "old-house", Title: "Old houses", Source: "since 2019", Limits: []events.Limit{{Kind: levelling.PairLimit, OverM: 2, LimitMM: 9, Rule: levelling.Flat}}}
	s := judged(t, "nsw-2017-new", 0, -12, -20, -5)
	least := leastBy(t, jobs.Refold(s.job, s.log).Choices(0, own), "old-house")
	if v := least.After[0]; v != (jobs.AfterVerdict{Profile: "old-house", Title: "Old houses", Source: own.Levelling().Cite(), Verdict: levelling.Within}) {
		t.Errorf("%+v", v)
	}
	if least.Words != "Least lift by Old houses" || least.Cost.TotalMM != 3+6 {
		t.Errorf("%s: %+v", least.Words, least.Cost)
	}
	s.record(events.KindAim, events.Aim{Aim: events.AimLeast, AgreedBy: "owner", Tolerance: own.Tolerance()})
	own.Limits = []events.Limit{{Kind: levelling.PairLimit, OverM: 2, LimitMM: 1, Rule: levelling.Flat}}
	all := jobs.Refold(s.job, s.log).Choices(0, own)
	if again := leastBy(t, all, "old-house"); again.Cost != least.Cost {
		t.Errorf("the firm's later limits count: %+v", again.Cost)
	}
	if n := len(slices.DeleteFunc(all, func(c jobs.Choice) bool { return c.Profile != "old-house" })); n != 1 {
		t.Errorf("%d choices of one name", n)
	}
}

// A spot that was read before the work says nothing about the floor after it.
func TestVerdictLeavesOutOldSpots(t *testing.T) {
	s := newSite(t)
	plan := bearerPlan()
	plan.Spots = []events.Spot{{ID: "middle", X: 2.7}}
	s.record(events.KindPlan, plan)
	u := s.laser(1000)
	for _, name := range []string{"B1-1", "B1-2", "B1-3", "B1-4", "middle"} {
		s.readOn(events.FloorFace, "", u, name, 1020)
	}
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", Tolerance: events.Tolerance{Profile: "nz-1-200"}})
	for _, name := range []string{"B1-1", "B1-2", "B1-3", "B1-4"} {
		s.jack(name, 20)
	}
	for range 3 {
		for _, name := range []string{"B1-1", "B1-2", "B1-3", "B1-4"} {
			s.readOn(events.FloorFace, "", u, name, 1000)
		}
	}
	p := s.picture()
	if f := p.Spots[0]; f.Survey == nil || f.AsFound == nil || math.Abs(f.Survey.MM+20) > 0.01 || math.Abs(f.AsFound.MM+20) > 0.01 {
		t.Errorf("the spot lay at %+v, as found %+v, want −20", f.Survey, f.AsFound)
	}
	if p.Verdict.Verdict != levelling.Within || !slices.Equal(p.Verdict.Unread, []string{"middle"}) || p.Spots[0].Basis != jobs.IsExpected {
		t.Errorf("%+v, the spot is %s", p.Verdict, p.Spots[0].Basis)
	}
	s.readOn(events.FloorFace, "", u, "middle", 1010) // it came up with its neighbours, by half as much
	if f := s.picture().Spots[0]; f.Present == nil || math.Abs(f.Present.MM+10) > 0.01 {
		t.Errorf("the spot lies at %+v, want −10 and no doubt", f.Present)
	} else if f.AsFound == nil || math.Abs(f.AsFound.MM+20) > 0.01 {
		t.Errorf("as found it lay at %+v, want −20 whatever it is read at later", f.AsFound)
	}
	if v := s.picture().Verdict; v.Verdict != levelling.Outside || len(v.Unread) != 0 {
		t.Errorf("%+v: the middle was read and lies low", v)
	}
}
