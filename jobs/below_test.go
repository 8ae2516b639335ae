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
	if said := strings.Join(b.Cautions, "; "); !strings.Contains(said, "90000 mm² of vents are lacking") || !strings.Contains(said, "less than the 400 mm") {
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
