package jobs_test

import (
	"strings"
	"testing"

	"relevel/events"
)

// What was said last of each thing stands, by the rule it is judged by
// (zone C, 30 m of wall, 180 000 mm²).
func TestBelow(t *testing.T) {
	s, _ := agreed(t)
	if b := s.picture().Below; b != nil {
		t.Fatalf("%+v", b)
	}
	s.record(events.KindUnderFloor, events.UnderFloor{Ground: "damp", ClearanceMM: 380, Moisture: []events.Moisture{{Support: "B1-2", Where: "bearer", Pct: 24}, {Where: "joist", Pct: 31}}})
	s.record(events.KindUnderFloor, events.UnderFloor{Airing: &events.Airing{Rule: "ncc-2022", Zone: "C", WallM: 30, FloorM2: 50, VentsMM2: []float64{60000, 30000}},
		Moisture: []events.Moisture{{Support: "B1-2", Where: "bearer", Pct: 17}}})
	b := s.picture().Below
	if b.Ground != "damp" || b.RequiredMM2 != 180000 || b.ProvidedMM2 != 90000 || b.ShortMM2 != 90000 || !strings.Contains(b.Source, "NCC 2022") {
		t.Errorf("%+v", b)
	}
	if said := strings.Join(b.Cautions, "; "); !strings.Contains(said, "90000 mm² of vents are lacking") || !strings.Contains(said, "under the usual 400 mm where termites are inspected for") {
		t.Errorf("%q", said)
	}
	if m := b.Moisture; len(m) != 2 || m[0].Pct != 31 || !strings.Contains(m[0].Words, "decay") || m[1].Words != "" {
		t.Errorf("%+v", m)
	}
	s.record(events.KindUnderFloor, events.UnderFloor{Airing: &events.Airing{Rule: "ncc-2022", WallM: 30}})
	if said := strings.Join(s.picture().Below.Cautions, "; "); !strings.Contains(said, "cannot be judged: zone") {
		t.Errorf("%q", said)
	}
}

// The room below is held against the usual one of the rule (NCC Housing Provisions
// 6.2.1: 150 mm, 400 where termites are inspected for; UK Approved Document C: a
// void of 150 mm), and at the usual there is nothing to say. It is never a pass.
func TestRoomBelow(t *testing.T) {
	for _, c := range []struct {
		mm   float64
		rule string
		want string
	}{
		{149, "", "149 mm of room is under the usual 150 mm by NCC Housing Provisions 6.2.1 (read as NCC 2019 3.4.1) and UK Approved Document C (second-hand)"},
		{149, "ncc-2022", "149 mm of room is under the usual 150 mm by NCC Housing Provisions 6.2.1 (read as NCC 2019 3.4.1)"},
		{150, "ncc-2022", "150 mm of room is under the usual 400 mm where termites are inspected for, by NCC Housing Provisions 6.2.1 (read as NCC 2019 3.4.1)"},
		{400, "ncc-2022", ""},
		{149, "uk-c", "149 mm of room is under the usual 150 mm by UK Approved Document C (second-hand)"},
		{150, "uk-c", ""},
	} {
		s, _ := agreed(t)
		u := events.UnderFloor{ClearanceMM: c.mm}
		if c.rule != "" {
			u.Airing = &events.Airing{Rule: c.rule, Zone: map[string]string{"ncc-2022": "A"}[c.rule], WallM: 30, FloorM2: 50, VentsMM2: []float64{1e6}}
		}
		s.record(events.KindUnderFloor, u)
		if said := strings.Join(s.picture().Below.Cautions, "; "); said != c.want {
			t.Errorf("%g mm by %q: %q, want %q", c.mm, c.rule, said, c.want)
		}
	}
}

// Moisture is held against 20 and 28 % (USDA Wood Handbook).
func TestMoistureBelow(t *testing.T) {
	for pct, want := range map[float64]string{19.9: "", 20: "above the usual ceiling of 20 %", 27.9: "above the usual ceiling", 28: "decay can grow"} {
		s, _ := agreed(t)
		s.record(events.KindUnderFloor, events.UnderFloor{Moisture: []events.Moisture{{Support: "B1-2", Pct: pct}}})
		if words := s.picture().Below.Moisture[0].Words; !strings.HasPrefix(words, want) || want == "" && words != "" {
			t.Errorf("%g %%: %q", pct, words)
		}
	}
}

// Vents that nobody counted are not lacking.
func TestVentsNobodyCounted(t *testing.T) {
	s, _ := agreed(t)
	s.record(events.KindUnderFloor, events.UnderFloor{Airing: &events.Airing{Rule: "nz-e2", FloorM2: 50}})
	if b := s.picture().Below; !b.Uncounted || b.RequiredMM2 != 175000 || b.ShortMM2 != 0 || len(b.Cautions) != 0 || len(b.Suspects) != 0 {
		t.Errorf("%+v", b)
	}
}

// What may explain a drop is to be recorded as a finding, until it is one; once it
// is seen again after the finding was closed, it is to be recorded anew.
func TestSuspicionsBelow(t *testing.T) {
	short := events.UnderFloor{Ground: "Standing water", Airing: &events.Airing{Rule: "uk-c", WallM: 30, FloorM2: 50, VentsMM2: []float64{40000}},
		Moisture: []events.Moisture{{Support: "B1-2", Where: "bearer", Pct: 24}, {Where: "plate", Pct: 12}}}
	suspects := func(s *site) string {
		var words []string
		for _, one := range s.picture().Below.Suspects {
			words = append(words, strings.TrimSpace(one.What+" "+one.Where+" "+strings.Join(one.Supports, " ")))
		}
		return strings.Join(words, ", ")
	}
	s, _ := agreed(t)
	s.record(events.KindUnderFloor, short)
	if got := suspects(s); got != "too few vents, Standing water, wet bearer B1-2" {
		t.Errorf("%q", got)
	}
	vents := s.record(events.KindFinding, events.Finding{What: "Too few vents", Cause: "covered by the deck"})
	s.record(events.KindFinding, events.Finding{What: "wet", Supports: []string{"B1-3"}})
	if got := suspects(s); got != "Standing water, wet bearer B1-2" {
		t.Errorf("with a finding: %q", got)
	}
	s.record(events.KindFindingClosed, events.FindingClosed{Finding: vents, How: "two vents cut"})
	if got := suspects(s); got != "Standing water, wet bearer B1-2" {
		t.Errorf("closed, and not looked at since: %q", got)
	}
	s.record(events.KindUnderFloor, short)
	if got := suspects(s); !strings.HasPrefix(got, "too few vents") {
		t.Errorf("still short: %q", got)
	}
	s.record(events.KindUnderFloor, events.UnderFloor{Ground: "dry", Airing: &events.Airing{Rule: "uk-c", WallM: 30, FloorM2: 50, VentsMM2: []float64{40000, 5000}}, Moisture: []events.Moisture{{Support: "B1-2", Where: "bearer", Pct: 15}}})
	if got := suspects(s); got != "" {
		t.Errorf("mended: %q", got)
	}
}

// What explains a support stands at it, open or closed with what closed it.
func TestFindingsAtASupport(t *testing.T) {
	s, _ := agreed(t)
	id := s.record(events.KindFinding, events.Finding{What: "sunk", Cause: "gutter", Supports: []string{"B1-1", "B1-2"}})
	if f := s.support("B1-2").Findings; len(f) != 1 || !f[0].Open || f[0].Text != "sunk (gutter)" {
		t.Errorf("%+v", f)
	}
	s.record(events.KindFindingClosed, events.FindingClosed{Finding: id, How: "downpipe mended"})
	if f := s.support("B1-1").Findings; len(f) != 1 || f[0].Open || f[0].Closed != "downpipe mended" {
		t.Errorf("%+v", f)
	}
	if f := s.support("B1-3").Findings; f != nil {
		t.Errorf("another support: %+v", f)
	}
}
