package underfloor_test

import (
	"math"
	"testing"

	"relevel/levelling/underfloor"
)

func TestFloorCut(t *testing.T) {
	tests := []struct {
		name string
		cut  underfloor.FloorCut
		want underfloor.CutEdges
	}{
		// Common practice (computed): a 45 mm joist, a 3 mm kerf, 21 mm each side.
		{"centre", underfloor.FloorCut{Board: 19, Joist: 45, Kerf: 3}, underfloor.CutEdges{SawDepth: 19, Left: 21, Right: 21}},
		{"right", underfloor.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: 5}, underfloor.CutEdges{SawDepth: 19, Left: 26, Right: 16}},
		{"left", underfloor.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: -5}, underfloor.CutEdges{SawDepth: 19, Left: 16, Right: 26}},
		{"to the edge", underfloor.FloorCut{Board: 22, Joist: 45, Kerf: 3, OffCentre: 21}, underfloor.CutEdges{SawDepth: 22, Left: 42}},
		{"over the edge", underfloor.FloorCut{Board: 22, Joist: 45, Kerf: 3, OffCentre: -22.5}, underfloor.CutEdges{SawDepth: 22, Right: 43.5}},
		{"no kerf", underfloor.FloorCut{Board: 19, Joist: 45}, underfloor.CutEdges{SawDepth: 19, Left: 22.5, Right: 22.5}},
		{
			"of any size",
			underfloor.FloorCut{Board: 1, Joist: math.MaxFloat64, OffCentre: math.MaxFloat64 / 4},
			underfloor.CutEdges{SawDepth: 1, Left: math.MaxFloat64 / 4 * 3, Right: math.MaxFloat64 / 4},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.cut.Edges()
			if err != nil || got != tt.want {
				t.Errorf("got %+v, %v; want %+v", got, err, tt.want)
			}
		})
	}
}

func TestFloorCutBadInput(t *testing.T) {
	tests := []struct {
		name  string
		cut   underfloor.FloorCut
		field string
	}{
		{"no board", underfloor.FloorCut{Joist: 45, Kerf: 3}, "board_mm"},
		{"negative board", underfloor.FloorCut{Board: -19, Joist: 45, Kerf: 3}, "board_mm"},
		{"no joist", underfloor.FloorCut{Board: 19, Kerf: 3}, "joist_mm"},
		{"infinite joist", underfloor.FloorCut{Board: 19, Joist: math.Inf(1), Kerf: 3}, "joist_mm"},
		{"negative kerf", underfloor.FloorCut{Board: 19, Joist: 45, Kerf: -3}, "kerf_mm"},
		{"kerf takes the joist", underfloor.FloorCut{Board: 19, Joist: 45, Kerf: 45}, "kerf_mm"},
		{"misses to the right", underfloor.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: 24}, "off_centre_mm"},
		{"misses to the left", underfloor.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: -300}, "off_centre_mm"},
		{"nowhere", underfloor.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: math.NaN()}, "off_centre_mm"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.cut.Edges()
			wantBad(t, err, tt.field)
			if got != (underfloor.CutEdges{}) {
				t.Errorf("%+v beside the error", got)
			}
		})
	}
}
