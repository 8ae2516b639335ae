package levelling_test

import (
	"math"
	"testing"

	"relevel/levelling"
)

func TestFloorCut(t *testing.T) {
	tests := []struct {
		name string
		cut  levelling.FloorCut
		want levelling.CutEdges
	}{
		// Common practice (computed): a 45 mm joist, a 3 mm kerf, 21 mm each side.
		{"centre", levelling.FloorCut{Board: 19, Joist: 45, Kerf: 3}, levelling.CutEdges{SawDepth: 19, Left: 21, Right: 21}},
		{"right", levelling.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: 5}, levelling.CutEdges{SawDepth: 19, Left: 26, Right: 16}},
		{"left", levelling.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: -5}, levelling.CutEdges{SawDepth: 19, Left: 16, Right: 26}},
		{"to the edge", levelling.FloorCut{Board: 22, Joist: 45, Kerf: 3, OffCentre: 21}, levelling.CutEdges{SawDepth: 22, Left: 42}},
		{"over the edge", levelling.FloorCut{Board: 22, Joist: 45, Kerf: 3, OffCentre: -22.5}, levelling.CutEdges{SawDepth: 22, Right: 43.5}},
		{"no kerf", levelling.FloorCut{Board: 19, Joist: 45}, levelling.CutEdges{SawDepth: 19, Left: 22.5, Right: 22.5}},
		{
			"of any size",
			levelling.FloorCut{Board: 1, Joist: math.MaxFloat64, OffCentre: math.MaxFloat64 / 4},
			levelling.CutEdges{SawDepth: 1, Left: math.MaxFloat64 / 4 * 3, Right: math.MaxFloat64 / 4},
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
		cut   levelling.FloorCut
		field string
	}{
		{"no board", levelling.FloorCut{Joist: 45, Kerf: 3}, "board_mm"},
		{"negative board", levelling.FloorCut{Board: -19, Joist: 45, Kerf: 3}, "board_mm"},
		{"no joist", levelling.FloorCut{Board: 19, Kerf: 3}, "joist_mm"},
		{"infinite joist", levelling.FloorCut{Board: 19, Joist: math.Inf(1), Kerf: 3}, "joist_mm"},
		{"negative kerf", levelling.FloorCut{Board: 19, Joist: 45, Kerf: -3}, "kerf_mm"},
		{"kerf takes the joist", levelling.FloorCut{Board: 19, Joist: 45, Kerf: 45}, "kerf_mm"},
		{"misses to the right", levelling.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: 24}, "off_centre_mm"},
		{"misses to the left", levelling.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: -300}, "off_centre_mm"},
		{"nowhere", levelling.FloorCut{Board: 19, Joist: 45, Kerf: 3, OffCentre: math.NaN()}, "off_centre_mm"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.cut.Edges()
			wantInputError(t, err, tt.field)
			if got != (levelling.CutEdges{}) {
				t.Errorf("%+v beside the error", got)
			}
		})
	}
}
