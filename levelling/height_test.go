package levelling_test

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/levelling"
)

type height = levelling.Height

// US Navy manual NAVEDTRA 14081 (ft; read): HI 237.0, reading 4.5, ground 232.5,
// wanted 239.0, so 6.5 to fill.
func TestRemainingNavy(t *testing.T) {
	plane, spread, err := levelling.Plane([]levelling.DatumReading{{Datum: height{MM: 233}, Staff: 4, SD: 1}})
	if err != nil || spread != (levelling.Spread{}) || plane.MM != 237 {
		t.Fatalf("got plane %v, spread %v, %v; want 237", plane, spread, err)
	}
	present := levelling.Reduce(plane, 4.5, 1)
	if present.MM != 232.5 {
		t.Errorf("ground at %v, want 232.5", present.MM)
	}
	if lift := levelling.Remaining(239, present.MM); lift != 6.5 {
		t.Errorf("to fill %v, want 6.5", lift)
	}
	if stop := levelling.StopFigure(plane, 239); stop != -2 {
		t.Errorf("stop figure %v, want -2: upside down, 2 above the plane", stop)
	}
}

func TestPlane(t *testing.T) {
	tests := []struct {
		name   string
		datums []levelling.DatumReading
		plane  height
		spread levelling.Spread
	}{
		{
			"one exact datum",
			[]levelling.DatumReading{{height{MM: 0}, 1500, 1}},
			height{1500, 1}, levelling.Spread{},
		},
		{
			"equal weights",
			[]levelling.DatumReading{{height{MM: 0}, 1500, 1}, {height{MM: 200}, 1302, 1}},
			height{1501, math.Sqrt(0.5)}, levelling.Spread{MM: 2},
		},
		{
			"the poorer counts a quarter", // weights 1 and 1/4: 1500 + 5/5
			[]levelling.DatumReading{{height{MM: 0}, 1500, 1}, {height{MM: 0}, 1505, 2}},
			height{1501, math.Sqrt(0.8)}, levelling.Spread{MM: 5},
		},
		{
			"the datum's own doubt", // 3-4-5
			[]levelling.DatumReading{{height{100, 3}, -400, 4}},
			height{-300, 5}, levelling.Spread{},
		},
		{
			"a datum has moved", // 5 mm against 3.2905·√2 = 4.65
			[]levelling.DatumReading{{height{MM: 0}, 1500, 1}, {height{MM: 0}, 1505, 1}},
			height{1502.5, math.Sqrt(0.5)}, levelling.Spread{MM: 5, Odd: true},
		},
		{
			"odd, though not the greatest difference",
			[]levelling.DatumReading{{height{MM: 0}, 0, 1}, {height{MM: 0}, 5, 1}, {height{MM: 0}, -4, 100}},
			height{2.49968, 0.70709}, levelling.Spread{MM: 9, Odd: true},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			plane, spread, err := levelling.Plane(tt.datums)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(plane.MM-tt.plane.MM) > 1e-5 || math.Abs(plane.SD-tt.plane.SD) > 1e-5 {
				t.Errorf("plane %v, want %v", plane, tt.plane)
			}
			if spread != tt.spread {
				t.Errorf("spread %v, want %v", spread, tt.spread)
			}
		})
	}
}

func TestPlaneBadInput(t *testing.T) {
	good := levelling.DatumReading{Datum: height{MM: 0}, Staff: 1500, SD: 1}
	tests := []struct {
		field string
		bad   levelling.DatumReading
	}{
		{"datums[1].height", levelling.DatumReading{height{MM: math.NaN()}, 1, 1}},
		{"datums[1].height", levelling.DatumReading{height{MM: 1e300}, 1, 1}},
		{"datums[1].height_sd", levelling.DatumReading{height{SD: -1}, 1, 1}},
		{"datums[1].staff", levelling.DatumReading{height{}, math.Inf(1), 1}},
		{"datums[1].sd", levelling.DatumReading{height{}, 1, 0}},
		{"datums[1].sd", levelling.DatumReading{height{}, 1, 1e-200}},
		{"datums[1].sd", levelling.DatumReading{height{}, 1, math.NaN()}},
	}
	for _, tt := range tests {
		_, _, err := levelling.Plane([]levelling.DatumReading{good, tt.bad})
		wantInputError(t, err, tt.field)
	}
	_, _, err := levelling.Plane(nil)
	wantInputError(t, err, "datums")
}

func TestReduceInverted(t *testing.T) {
	// Underground levelling exercise (m; read, computed): HI 162.713, A −3.045.
	got := levelling.Reduce(height{162.713, 3}, -3.045, 4)
	if math.Abs(got.MM-165.758) > 1e-9 || got.SD != 5 {
		t.Errorf("got %v, want 165.758 ± 5", got)
	}
}

func add(t interface {
	Helper()
	Fatal(...any)
}, s levelling.Settled, rs ...levelling.FaceReading) levelling.Settled {
	t.Helper()
	for _, r := range rs {
		var err error
		if s, err = s.Add(r); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

func TestSettled(t *testing.T) {
	plane := height{1500, 1}
	read := func(setup string, staff, sd float64) levelling.FaceReading {
		return levelling.FaceReading{Setup: setup, Plane: plane, Staff: staff, SD: sd}
	}
	tests := []struct {
		name     string
		readings []levelling.FaceReading
		want     height
	}{
		{"once", []levelling.FaceReading{read("1", 1510, 1)}, height{-10, math.Sqrt2}},
		{
			"repeats keep the plane's part", // 1 + 1/4
			[]levelling.FaceReading{read("1", 1510, 1), read("1", 1511, 1), read("1", 1510, 1), read("1", 1511, 1)},
			height{-10.5, math.Sqrt(1.25)},
		},
		{
			"two set-ups halve the variance",
			[]levelling.FaceReading{read("1", 1510, 1), read("2", 1512, 1)},
			height{-11, 1},
		},
		{
			"the better reading counts more", // weights 1 and 1/4: 1510 + 5/5; 1 + 0.8
			[]levelling.FaceReading{read("1", 1510, 1), read("1", 1515, 2)},
			height{-11, math.Sqrt(1.8)},
		},
		{
			"a newer plane holds for the set-up",
			[]levelling.FaceReading{read("1", 1510, 1), {Setup: "1", Plane: height{1502, 0}, Staff: 1510, SD: 1}},
			height{-8, math.Sqrt(0.5)},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := add(t, levelling.Settled{}, tt.readings...)
			got, ok := s.Height()
			if !ok {
				t.Fatal("no height")
			}
			if diff := cmp.Diff(tt.want, got, near); diff != "" {
				t.Errorf("height (-want +got):\n%s", diff)
			}
			if s.Count() != len(tt.readings) {
				t.Errorf("count %d, want %d", s.Count(), len(tt.readings))
			}
		})
	}
}

func TestSettledEmpty(t *testing.T) {
	if h, ok := (levelling.Settled{}).Height(); ok {
		t.Errorf("a face that nobody read is at %v", h)
	}
}

// A state keeps the value it had before a reading, and can be stored.
func TestSettledIsAValue(t *testing.T) {
	r := levelling.FaceReading{Setup: "1", Plane: height{1500, 1}, Staff: 1510, SD: 1}
	one := add(t, levelling.Settled{}, r)
	r.Staff = 1520
	two := add(t, one, r)
	if h, _ := one.Height(); h.MM != -10 || one.Count() != 1 {
		t.Errorf("the earlier value changed to %v", h)
	}
	stored, err := json.Marshal(two)
	if err != nil {
		t.Fatal(err)
	}
	var back levelling.Settled
	if err := json.Unmarshal(stored, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(two, back); diff != "" {
		t.Errorf("stored (-before +after):\n%s", diff)
	}
}

func TestSettledBadInput(t *testing.T) {
	good := levelling.FaceReading{Setup: "1", Plane: height{1500, 1}, Staff: 1510, SD: 1}
	tests := []struct {
		field string
		spoil func(*levelling.FaceReading)
	}{
		{"plane", func(r *levelling.FaceReading) { r.Plane.MM = math.Inf(1) }},
		{"plane_sd", func(r *levelling.FaceReading) { r.Plane.SD = 1e200 }},
		{"staff", func(r *levelling.FaceReading) { r.Staff = math.NaN() }},
		{"sd", func(r *levelling.FaceReading) { r.SD = 0 }},
		{"sd", func(r *levelling.FaceReading) { r.SD = -1 }},
	}
	for _, tt := range tests {
		r := good
		tt.spoil(&r)
		_, err := levelling.Settled{}.Add(r)
		wantInputError(t, err, tt.field)
	}
}

// Whatever the order, the same readings settle at the same height; more of them
// never make it less certain, nor better than the planes allow.
func TestSettledProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var readings []levelling.FaceReading
		for range rapid.IntRange(1, 12).Draw(t, "readings") {
			setup := rapid.IntRange(1, 3).Draw(t, "set-up")
			readings = append(readings, levelling.FaceReading{
				Setup: fmt.Sprint(setup),
				Plane: height{1500 * float64(setup), 0.5 * float64(setup)},
				Staff: 1500*float64(setup) + rapid.Float64Range(-20, 20).Draw(t, "staff"),
				SD:    rapid.Float64Range(0.1, 3).Draw(t, "sd"),
			})
		}
		var s levelling.Settled
		sd := math.Inf(1)
		for _, r := range readings {
			s = add(t, s, r)
			h, _ := s.Height()
			if h.SD > sd*(1+1e-12) {
				t.Fatalf("sd rose from %v to %v", sd, h.SD)
			}
			sd = h.SD
		}
		if floor := 0.5 / math.Sqrt(1+1.0/4+1.0/9); sd < floor {
			t.Errorf("sd %v is below %v, which the planes allow", sd, floor)
		}
		want, _ := s.Height()
		got, _ := add(t, levelling.Settled{}, rapid.Permutation(readings).Draw(t, "order")...).Height()
		if diff := cmp.Diff(want, got, near); diff != "" {
			t.Errorf("another order (-want +got):\n%s", diff)
		}
	})
}

func TestFaces(t *testing.T) {
	offset := levelling.Offset(height{15, 3}, height{-127, 4})
	if offset != (height{142, 5}) {
		t.Fatalf("offset %v, want 142 ± 5", offset)
	}
	if up := levelling.Upper(height{-120, 12}, offset); up != (height{22, 13}) {
		t.Errorf("upper face %v, want 22 ± 13", up)
	}
	if down := levelling.Lower(height{22, 12}, offset); down != (height{-120, 13}) {
		t.Errorf("lower face %v, want -120 ± 13", down)
	}
}

func TestMoved(t *testing.T) {
	if got := levelling.Moved(height{-12, 3}, 5, 4); got != (height{-7, 5}) {
		t.Errorf("lifted to %v, want -7 ± 5", got)
	}
	if got := levelling.Moved(height{-12, 0}, -2, levelling.RuleSD); got != (height{-14, 1}) {
		t.Errorf("let down to %v, want -14 ± 1", got)
	}
}

func TestDisagrees(t *testing.T) {
	tests := []struct {
		name           string
		read, expected height
		by             float64
		odd            bool
	}{
		{"equal", height{5, 1}, height{5, 1}, 0, false},
		{"just within", height{3.2905 * 5, 3}, height{0, 4}, 16.4525, false},
		{"just past", height{3.2906 * 5, 3}, height{0, 4}, 16.453, true},
		{"below", height{-17, 3}, height{0, 4}, -17, true},
		{"both exact and equal", height{5, 0}, height{5, 0}, 0, false},
		{"both exact", height{5, 0}, height{4, 0}, 1, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			by, odd := levelling.Disagrees(tt.read, tt.expected)
			if math.Abs(by-tt.by) > 1e-9 || odd != tt.odd {
				t.Errorf("got %v, %t; want %v, %t", by, odd, tt.by, tt.odd)
			}
		})
	}
}

// The critical value is the point of the normal distribution that 0.1 % lie
// beyond, both tails together (reference table; computed).
func TestCriticalValue(t *testing.T) {
	beyond := math.Erfc(levelling.CriticalValue / math.Sqrt2)
	if math.Abs(beyond-0.001) > 1e-6 {
		t.Errorf("%v lies beyond %v, want 0.001", beyond, levelling.CriticalValue)
	}
}

// When the staff reads the stop figure, the remaining lift is zero.
func TestStopFigureEndsTheLift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plane := height{float64(rapid.IntRange(-4000, 4000).Draw(t, "plane")), 1}
		target := float64(rapid.IntRange(-4000, 4000).Draw(t, "target"))
		staff := levelling.StopFigure(plane, target)
		if left := levelling.Remaining(target, levelling.Reduce(plane, staff, 1).MM); left != 0 {
			t.Errorf("%v left at the stop figure %v", left, staff)
		}
	})
}
