package events_test

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"relevel/events"
	"relevel/levelling"
)

func TestInstrumentCheck(t *testing.T) {
	for _, tt := range []struct {
		name, body string
		field      string  // of the InputError; empty: none
		errorPerM  float64 // mm per m
		tiltPerM   float64
	}{
		// Two worked answers; the procedure is that of US Navy NAVEDTRA 14070.
		{"TrueDifferenceKnown", `{"instrument":"level","sort":"two-peg","mid":{"a":0,"b":630},"off":{"a":2847,"b":3462,"to_a_m":25,"to_b_m":50}}`, "", -0.6, 0},
		{"MidwayAndNear", `{"instrument":"level","sort":"two-peg","mid":{"a":2000,"b":3000},"off":{"a":1500,"b":2750,"to_a_m":120,"to_b_m":20}}`, "", -2.5, 0},
		{"PointsUp", `{"instrument":"level","sort":"two-peg","mid":{"a":1000,"b":1000},"off":{"a":1002,"b":1000.2,"to_a_m":33,"to_b_m":3}}`, "", 0.06, 0},
		{"UnitsMixed", `{"instrument":"level","sort":"two-peg","mid":{"a":1000,"b":1000},"off":{"a":{"value":1,"unit":"m"},"b":{"value":100,"unit":"cm"},"to_a_m":33,"to_b_m":3}}`, "", 0, 0},
		// 0.05 mm per m at 30 m is 3 mm between the marks.
		{"HalfTurn", `{"instrument":"laser","sort":"half-turn","distance_m":30,"difference":3}`, "", 0, 0.05},
		{"HalfTurnTrue", `{"instrument":"laser","sort":"half-turn","distance_m":30,"difference":0}`, "", 0, 0},

		{"NoName", `{"instrument":" ","sort":"half-turn","distance_m":30,"difference":3}`, "instrument", 0, 0},
		{"NoSort", `{"instrument":"laser"}`, "sort", 0, 0},
		{"NoMidway", `{"instrument":"level","sort":"two-peg","off":{"a":1,"b":2,"to_a_m":3,"to_b_m":30}}`, "mid.a", 0, 0},
		{"NoOff", `{"instrument":"level","sort":"two-peg","mid":{"a":1,"b":2}}`, "off.a", 0, 0},
		{"OnePegMissing", `{"instrument":"level","sort":"two-peg","mid":{"a":1000,"b":1000},"off":{"a":1002,"to_a_m":33,"to_b_m":3}}`, "off.b", 0, 0},
		{"EqualSights", `{"instrument":"level","sort":"two-peg","mid":{"a":1000,"b":1000},"off":{"a":1002,"b":1000,"to_a_m":15,"to_b_m":16}}`, "off.to_b_m", 0, 0},
		{"SightBackwards", `{"instrument":"level","sort":"two-peg","mid":{"a":1000,"b":1000},"off":{"a":1002,"b":1000,"to_a_m":-15,"to_b_m":16}}`, "off.to_a_m", 0, 0},
		{"Misread", `{"instrument":"level","sort":"two-peg","mid":{"a":1000,"b":1000},"off":{"a":1902,"b":1000,"to_a_m":33,"to_b_m":3}}`, "off.a", 0, 0},
		{"TwoPegWithDistance", `{"instrument":"level","sort":"two-peg","distance_m":30,"mid":{"a":1000,"b":1000},"off":{"a":1002,"b":1000,"to_a_m":33,"to_b_m":3}}`, "distance_m", 0, 0},
		{"HalfTurnWithPegs", `{"instrument":"laser","sort":"half-turn","distance_m":30,"difference":3,"mid":{"a":1,"b":2}}`, "mid.a", 0, 0},
		{"HalfTurnNoMarks", `{"instrument":"laser","sort":"half-turn","distance_m":30}`, "difference", 0, 0},
		{"HalfTurnTooNear", `{"instrument":"laser","sort":"half-turn","difference":3}`, "distance_m", 0, 0},
		{"HalfTurnMarksBelow", `{"instrument":"laser","sort":"half-turn","distance_m":30,"difference":-3}`, "difference", 0, 0},
		{"OnNoDay", `{"instrument":"laser","sort":"half-turn","distance_m":30,"difference":3,"on":"yesterday"}`, "on", 0, 0},
		{"GoodUntilNoDay", `{"instrument":"laser","sort":"half-turn","distance_m":30,"difference":3,"good_until":"2026-02-30"}`, "good_until", 0, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			body, err := events.Open(events.KindInstrumentCheck, 1, json.RawMessage(tt.body))
			var bad *levelling.InputError
			if tt.field != "" {
				if !errors.As(err, &bad) || bad.Field != tt.field {
					t.Fatalf("got %v, want an InputError on %s", err, tt.field)
				}
				return
			}
			if err != nil {
				t.Fatalf("refused: %v", err)
			}
			c := body.(*events.InstrumentCheck)
			if math.Abs(c.ErrorPerM()-tt.errorPerM) > 1e-9 || math.Abs(c.TiltPerM()-tt.tiltPerM) > 1e-9 {
				t.Errorf("%g up and %g tilted, want %g and %g", c.ErrorPerM(), c.TiltPerM(), tt.errorPerM, tt.tiltPerM)
			}
		})
	}
}
