package levelling_test

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"relevel/levelling"
)

func TestShow(t *testing.T) {
	tests := []struct {
		mm           float64
		whole        string
		inches, feet string
	}{
		{0, "0", "0″", "0.00"},
		{0.4, "0", "0″", "0.00"},
		{-0.4, "0", "0″", "0.00"},
		{0.5, "1", "<1⁄16″", "<0.01"}, // no nought in mm, so none in what is coarser
		{-0.6, "−1", "−<1⁄16″", "−<0.01"},
		{0.79375, "1", "1⁄16″", "<0.01"}, // 1/32 in
		{1.5, "2", "1⁄16″", "<0.01"},
		{1.6, "2", "1⁄16″", "0.01"},
		{24.60625, "25", "1″", "0.08"}, // 31/32 in
		{24.6, "25", "15⁄16″", "0.08"},
		{-24.60625, "−25", "−1″", "−0.08"},
		{30.1625, "30", "1 3⁄16″", "0.10"},
		{304.00625, "304", "12″", "1.00"}, // 11 31/32 in
		{1284, "1\u2009284", "50 9⁄16″", "4.21"},
		{-12345.6, "−12\u2009346", "−486 1⁄16″", "−40.50"},
	}
	for _, tt := range tests {
		for unit, want := range map[levelling.Unit]string{levelling.Millimetre: tt.whole, levelling.Inch: tt.inches, levelling.Foot: tt.feet} {
			if got := unit.Show(tt.mm); got != want {
				t.Errorf("%v mm in %s is %q, want %q", tt.mm, unit, got, want)
			}
		}
	}
}

func TestShowOthers(t *testing.T) {
	mm, in, ft := levelling.Millimetre, levelling.Inch, levelling.Foot
	for got, want := range map[string]string{
		"signed " + mm.ShowSigned(17) + mm.ShowSigned(-3) + mm.ShowSigned(-0.2):              "signed +17−30",
		"signed " + in.ShowSigned(3.2) + in.ShowSigned(-0.6) + in.ShowSigned(0.1):            "signed +1⁄8″−<1⁄16″0″",
		"signed " + ft.ShowSigned(3.2) + ft.ShowSigned(-3.2) + ft.ShowSigned(0):              "signed +0.01−0.010.00",
		"fine " + mm.ShowFine(12.5) + " " + in.ShowFine(12.7) + " " + mm.ShowFine(-0.5):      "fine 12.5 1⁄2″ −0.5",
		"limit " + mm.ShowLimit(3.16) + " " + in.ShowLimit(3.175) + " " + ft.ShowLimit(3.16): "limit 3.2 0.125″ 0.0104",
		"sd " + mm.ShowSD(0.3) + in.ShowSD(0.3) + ft.ShowSD(0.3) + mm.ShowSD(0):              "sd ±1±1⁄16″±0.01",
		"sd " + mm.ShowSD(2.4) + in.ShowSD(3.2) + ft.ShowSD(math.NaN()):                      "sd ±2±1⁄8″",
		"with " + mm.ShowWith(3) + "," + in.ShowWith(3.175) + "," + ft.ShowWith(3.048):       "with 3 mm,1⁄8″,0.01 ft",
		"other " + levelling.Metre.ShowWith(3) + levelling.Unit("").Show(1000):               "other 3 mm1\u2009000",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// Lengths of a sentence are spelt anew, and nothing else of it.
func TestRespell(t *testing.T) {
	for sentence, want := range map[string][3]string{
		"about 10 mm above what the last 2 say": {"about 10 mm above what the last 2 say", "about 3⁄8″ above what the last 2 say", "about 0.03 ft above what the last 2 say"},
		"0.4 mm and 1284 mm":                    {"0.4 mm and 1284 mm", "0.016″ and 50 9⁄16″", "0.0013 ft and 4.21 ft"},
		"3 mm per m, 20 mm² and no mm":          {"3 mm per m, 20 mm² and no mm", "3 mm per m, 20 mm² and no mm", "3 mm per m, 20 mm² and no mm"},
		"D1 is at -5 mm":                        {"D1 is at -5 mm", "D1 is at -3⁄16″", "D1 is at -0.02 ft"},
	} {
		for i, unit := range levelling.Displayed() {
			if got := unit.Respell(sentence); got != want[i] {
				t.Errorf("%q in %s is %q, want %q", sentence, unit, got, want[i])
			}
		}
	}
}

// A length that rounds up to a whole foot is carried into the feet.
func TestShowPlan(t *testing.T) {
	for m, want := range map[float64][3]string{
		3.6:        {"3.6 m", "11 ft 9 3⁄4″", "11.81 ft"},
		0.30400625: {"0.3 m", "1 ft", "1.00 ft"}, // 11 31/32 in
		0.3038:     {"0.3 m", "11 15⁄16″", "1.00 ft"},
		0.609:      {"0.61 m", "2 ft", "2.00 ft"},
		-1.8:       {"−1.8 m", "−5 ft 10 7⁄8″", "−5.91 ft"},
		0:          {"0 m", "0 ft", "0.00 ft"},
		-0.0001:    {"0 m", "0 ft", "0.00 ft"},
	} {
		for i, unit := range levelling.Displayed() {
			if got := unit.ShowPlan(m); got != want[i] {
				t.Errorf("%v m in %s is %q, want %q", m, unit, got, want[i])
			}
		}
	}
}

// nearest is how many steps a decimal has, exactly, halves away from nought.
func nearest(decimal string, step *big.Rat) *big.Int {
	value, _ := new(big.Rat).SetString(decimal)
	n := new(big.Rat).Quo(value, step)
	negative := n.Sign() < 0
	n.Abs(n).Add(n, big.NewRat(1, 2))
	whole := new(big.Int).Quo(n.Num(), n.Denom())
	if negative {
		whole.Neg(whole)
	}
	return whole
}

// Every length with up to five decimals is what exact arithmetic makes of it, the
// halves between two sixteenths or hundredths too.
func TestShowExactly(t *testing.T) {
	inch16, foot100 := big.NewRat(254, 160), big.NewRat(3048, 1000)
	check := func(t interface{ Errorf(string, ...any) }, decimal string) {
		mm, err := strconv.ParseFloat(decimal, 64)
		if err != nil {
			t.Errorf("%v", err)
		}
		if got, want := levelling.Sixteenths(mm), nearest(decimal, inch16); got != float64(want.Int64()) {
			t.Errorf("%s mm is %v sixteenths, want %v", decimal, got, want)
		}
		hundredths := nearest(decimal, foot100)
		want := new(big.Rat).SetFrac(hundredths, big.NewInt(100)).FloatString(2)
		if got := levelling.FormatFeet(mm); got != want {
			t.Errorf("%s mm is %s ft, want %s", decimal, got, want)
		}
	}
	for k := int64(1); k < 20000; k += 2 {
		check(t, new(big.Rat).Mul(big.NewRat(k, 2), inch16).FloatString(5))
		check(t, new(big.Rat).Mul(big.NewRat(-k, 2), foot100).FloatString(3))
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(-1e10, 1e10).Draw(t, "hundred thousandths")
		sign := ""
		if n < 0 {
			sign, n = "-", -n
		}
		check(t, fmt.Sprintf("%s%d.%05d", sign, n/100000, n%100000))
	})
}

// What whole millimetres do not call level, no unit does.
func TestShowNoLevelThatIsNone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := rapid.Float64Range(-3000, 3000).Draw(t, "mm")
		level := levelling.Millimetre.Show(mm) == "0"
		for _, unit := range levelling.Displayed() {
			if got := strings.Trim(unit.Show(mm), "0.″") == ""; got && !level {
				t.Errorf("%v mm is %q in %s and %q in mm", mm, unit.Show(mm), unit, levelling.Millimetre.Show(mm))
			}
		}
	})
}
