package levelling_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/levelling"
)

// A profile's rules of a room bind the points of one room, those of the
// footprint and plain limits all.
func TestLeastByRooms(t *testing.T) {
	profile, err := levelling.FindProfile("nsw-2017-new")
	if err != nil {
		t.Fatal(err)
	}
	points := func(rooms ...string) (all []levelling.AimPoint) {
		for i, h := range []float64{0, 0, -30, -45} {
			all = append(all, levelling.AimPoint{ID: string(rune('A' + i)), X: float64(i), Room: rooms[i], HeightMM: h})
		}
		return all
	}
	tests := []struct {
		name  string
		goal  levelling.Goal
		rooms []string
		lifts []float64
	}{
		{"one room: 10 mm in it, 4 mm in 2 m", levelling.Goal{Profile: profile}, []string{"", "", "", ""}, []float64{0, 0, 26, 41}},
		{"two rooms: a step between them, 4 mm within 2 m of each, 20 over all", levelling.Goal{Profile: profile}, []string{"hall", "hall", "bath", "bath"}, []float64{0, 0, 10, 25}},
		{"a plain limit knows no rooms", levelling.Goal{Limits: []levelling.Limit{{Kind: levelling.RangeLimit, MM: 12}}}, []string{"hall", "hall", "bath", "bath"}, []float64{0, 0, 18, 33}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.goal.Aim = levelling.AimLeast
			got, err := tt.goal.Targets(points(tt.rooms...))
			if err != nil {
				t.Fatal(err)
			}
			var lifts []float64
			for _, p := range got.Points {
				lifts = append(lifts, p.LiftMM)
			}
			if diff := cmp.Diff(tt.lifts, lifts); diff != "" {
				t.Errorf("lifts (-want +got):\n%s", diff)
			}
		})
	}
}
