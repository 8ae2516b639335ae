package drawing

import (
	"html"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// Text is escaped as the standard library escapes it, and a coordinate is the
// shortest text of itself to a tenth.
func TestCanvasWrites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune(`aä北&<>"'; #`))).Draw(t, "text")
		c := canvas{}
		c.escaped(text)
		if want := html.EscapeString(text); string(c.b) != want {
			t.Errorf("%q is written %q, want %q", text, c.b, want)
		}
		v := rapid.Float64().Draw(t, "coordinate")
		if rapid.Bool().Draw(t, "near") {
			v = math.Mod(v, 1e4)
		}
		if got := num(v); got != shortest(v) {
			t.Errorf("%g is written %s, want %s", v, got, shortest(v))
		}
	})
}

func shortest(v float64) string {
	v = math.Round(v*10) / 10
	switch {
	case math.IsNaN(v), math.IsInf(v, 0), v == 0:
		return "0"
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func TestNoCoordinate(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -0.04, math.Copysign(0, -1), math.MaxFloat64} {
		if got := num(v); got != "0" {
			t.Errorf("%g is written %s", v, got)
		}
	}
}
