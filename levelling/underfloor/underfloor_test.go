package underfloor_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/levelling"
	"relevel/levelling/underfloor"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %g, want %g", what, got, want)
	}
}

func ptr(x float64) *float64 { return &x }

func wantBad(t *testing.T, err error, field string) {
	t.Helper()
	var bad *levelling.InputError
	if !errors.As(err, &bad) || bad.Field != field {
		t.Errorf("got %v, want an InputError on %s", err, field)
	}
}

// 24 CFR 3285.303 Table 1: the piers at 4 and 8 ft as read, those at 6 and 10 by
// the table's own rule, of a half 15 ft wide with a roof that overhangs by 2 ft.
// Pounds and feet; the calculator's kN and m come to the same sums.
func TestTributaryTable(t *testing.T) {
	const lbPerKN, ft = 224.809, 0.3048
	table := map[float64][3]float64{4: {2900, 3300, 3600}, 6: {4200, 4700, 5200}, 8: {5500, 6200, 6900}, 10: {6800, 7600, 8500}}
	kpa := func(psf float64) float64 { return psf / lbPerKN / (ft * ft) }
	for spacing, want := range table {
		for i, live := range []float64{20, 30, 40} {
			s, err := underfloor.Loads{
				Floor:      underfloor.Spread{AreaM2: 7.5 * spacing * ft * ft, DeadKPa: kpa(6), LiveKPa: kpa(40)},
				Roof:       &underfloor.Spread{AreaM2: 8.5 * spacing * ft * ft, DeadKPa: kpa(10), LiveKPa: kpa(live)},
				Walls:      []underfloor.Wall{{RunM: spacing * ft, HeightM: ft, DeadKPa: kpa(45)}},
				Continuity: 1,
			}.Sum()
			if err != nil {
				t.Fatal(err)
			}
			pounds := math.Ceil((s.Design*lbPerKN+300)/100-1e-6) * 100
			if pounds != want[i] {
				t.Errorf("%g ft at %g psf: %.0f lb, the table has %.0f", spacing, live, pounds, want[i])
			}
		}
	}
}

// What a gauge will show is dead load and a part of the live one.
func TestLoads(t *testing.T) {
	s, err := underfloor.Loads{Floor: underfloor.Spread{AreaM2: 3, DeadKPa: 0.5, LiveKPa: 1.5}, Continuity: 1.2, JackLive: 0.4}.Sum()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "dead", s.Dead, 1.8, 1e-12)
	near(t, "live", s.Live, 5.4, 1e-12)
	near(t, "design", s.Design, 7.2, 1e-12)
	near(t, "jack", s.Jack, 1.8+1.2, 1e-12)
}

// structure.md §4, computed: 12 kN and 8 kN at 100 kPa.
func TestPad(t *testing.T) {
	for load, want := range map[float64][2]float64{12: {346, 391}, 8: {283, 319}} {
		s, err := underfloor.Pad{LoadKN: load, SoilKPa: 100}.Size()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "area", s.AreaM2, load/100, 1e-12)
		near(t, "square", s.SquareMM, want[0], 0.5)
		near(t, "diameter", s.DiameterMM, want[1], 0.5)
	}
}

// 24 CFR 3285.312, read: a pad of 24 in square and 6 in thick on 1 000 psf carries
// 3 700 lb, one of 20 in 2 600.
func TestPadOwnWeight(t *testing.T) {
	const lbPerKN, inch = 224.809, 25.4
	for side, pounds := range map[float64]float64{24: 3700, 20: 2600} {
		carries := side * side / 144 * (1000 - 150*6/12.0)
		if rounded := math.Round(carries/100) * 100; rounded != pounds {
			t.Fatalf("%g in: %g lb", side, carries)
		}
		s, err := underfloor.Pad{LoadKN: carries / lbPerKN, SoilKPa: 1000 / lbPerKN / 0.09290304, ThicknessMM: ptr(6 * inch), ConcreteKN: ptr(150 / lbPerKN / 0.028316846592)}.Size()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "side", s.SquareMM, side*inch, 0.01)
		near(t, "volume", *s.VolumeM3, s.AreaM2*6*inch/1000, 1e-12)
	}
	_, err := underfloor.Pad{LoadKN: 1, SoilKPa: 7, ThicknessMM: ptr(300), ConcreteKN: ptr(24)}.Size()
	wantBad(t, err, "thickness_mm")
}

func TestBags(t *testing.T) {
	if n := underfloor.Bags(0.036, 0.01); n != 4 {
		t.Errorf("%d bags, want 4", n)
	}
	if n := underfloor.Bags(0.036, 0); n != 0 {
		t.Errorf("%d bags of nobody knows what", n)
	}
}

// Of two published values the lower stands, and fill has none.
func TestSoils(t *testing.T) {
	for _, s := range underfloor.Soils() {
		if s.Source == "" || (strings.Contains(s.Name, "fill") != (s.KPa == 0)) {
			t.Errorf("%+v", s)
		}
		if s.Name == "clay or silt" {
			near(t, "clay", s.KPa, 71.8, 0.05) // IRC R401.4.1, second-hand
		}
	}
}

// structure.md §5: 30 m of wall and 50 m², zone C, by each rule.
func TestVents(t *testing.T) {
	for _, tt := range []struct {
		rule   underfloor.VentRule
		zone   string
		sealed bool
		want   float64
	}{
		{"ncc-2022", "A", false, 60000}, {"ncc-2022", "B", false, 120000}, {"ncc-2022", "C", false, 180000},
		{"ncc-2022", "A", true, 30000}, {"ncc-2022", "C", true, 90000}, {"nz-e2", "", false, 175000},
		{"irc", "", false, 333333.333}, {"irc", "", true, 33333.333}, {"uk-c", "", false, 45000},
	} {
		v, err := underfloor.Airing{Rule: tt.rule, Zone: tt.zone, Sealed: tt.sealed, WallM: 30, FloorM2: 50, VentsMM2: []float64{10000, 20000}}.Vents()
		if err != nil {
			t.Fatal(err)
		}
		near(t, string(tt.rule)+tt.zone, v.Required, tt.want, 0.001)
		near(t, "provided", *v.Provided, 30000, 0)
		near(t, "short", *v.Short, math.Max(0, tt.want-30000), 0.001)
		if v.Source == "" {
			t.Error("no source")
		}
	}
	_, err := underfloor.Airing{Rule: "ncc-2022", WallM: 30, FloorM2: 50}.Vents()
	wantBad(t, err, "zone")
}

// structure.md §6, computed: 50 mm at 20 MPa is 39.27 kN, 2 in at 5 000 psi
// 15 708 lb.
func TestJack(t *testing.T) {
	p, err := underfloor.Jack{BoreMM: 50, PressureMPa: 20, RatedKN: ptr(42)}.Push()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "force", p.ForceKN, 39.27, 0.005)
	near(t, "low", p.LowKN, 35.34, 0.005)
	near(t, "high", p.HighKN, 43.20, 0.005)
	if !*p.OverRating {
		t.Error("within a tenth of 39.27 lies more than 42")
	}
	p, err = underfloor.Jack{BoreMM: 50.8, PressureMPa: 5000 * 0.006894757}.Push()
	if err != nil || p.OverRating != nil {
		t.Fatal(p, err)
	}
	near(t, "pounds", p.ForceKN*224.809, 15708, 1)
}

// USDA Wood Handbook, read: Douglas-fir laid flat loses 0.56 mm of 50 from 19 to
// 12 %, and 1.44 from green; white and red oak by their change per 1 %.
func TestShrinkage(t *testing.T) {
	for _, tt := range []struct {
		species    string
		grain      underfloor.Grain
		from, to   float64
		want, give float64
	}{
		{"douglas-fir", "radial", 19, 12, 0.56, 0.005}, {"douglas-fir", "radial", 60, 12, 1.44, 0.005}, {"douglas-fir", "radial", 30, 12, 1.44, 0.005},
		{"white-oak", "radial", 19, 12, 50 * 7 * 0.00180, 1e-9}, {"white-oak", "tangential", 19, 12, 50 * 7 * 0.00365, 1e-9},
		{"red-oak", "radial", 19, 12, 50 * 7 * 0.00158, 1e-9}, {"red-oak", "tangential", 19, 12, 50 * 7 * 0.00369, 1e-9},
		{"white-oak", "radial", 12, 19, -50 * 7 * 0.00180, 1e-9}, {"white-oak", "radial", 40, 35, 0, 0},
	} {
		loss, source, err := underfloor.Shrinkage(50, tt.species, tt.grain, tt.from, tt.to)
		if err != nil || source == "" {
			t.Fatal(source, err)
		}
		near(t, tt.species, loss, tt.want, tt.give)
	}
	_, _, err := underfloor.Shrinkage(50, "balsa", "radial", 19, 12)
	wantBad(t, err, "species")
	if !strings.Contains(err.Error(), "douglas-fir") {
		t.Errorf("%v does not list what is known", err)
	}
}

func TestPacker(t *testing.T) {
	stock := underfloor.Stock{SizesMM: []float64{25, 18, 12, 6, 3}, MaxPieces: 2, WithinMM: 1}
	for _, tt := range []struct {
		name         string
		gap, bedding float64
		stock        underfloor.Stock
		want         underfloor.Packer
	}{
		{"OnePiece", 18, 0, stock, underfloor.Packer{NeedMM: 18, PiecesMM: []float64{18}, SumMM: 18}},
		{"WithBedding", 18, 2.5, stock, underfloor.Packer{NeedMM: 20.5, PiecesMM: []float64{18, 3}, SumMM: 21, OverMM: 0.5}},
		{"OneBeforeTwo", 17, 0, stock, underfloor.Packer{NeedMM: 17, PiecesMM: []float64{18}, SumMM: 18, OverMM: 1}},
		{"Short", 19, 0, stock, underfloor.Packer{NeedMM: 19, PiecesMM: []float64{18}, SumMM: 18, OverMM: -1}},
		{"Cut", 22.5, 0, stock, underfloor.Packer{NeedMM: 22.5, PiecesMM: []float64{22.5}, SumMM: 22.5, Cut: true, CutFrom: ptr(25)}},
		{"NothingThickEnough", 80, 0, stock, underfloor.Packer{NeedMM: 80, PiecesMM: []float64{80}, SumMM: 80, Cut: true}},
		{"EmptyStock", 8, 0, underfloor.Stock{MaxPieces: 1}, underfloor.Packer{NeedMM: 8, PiecesMM: []float64{8}, SumMM: 8, Cut: true}},
		{"OverBeforeShort", 10, 0, underfloor.Stock{SizesMM: []float64{9, 11}, MaxPieces: 1, WithinMM: 1}, underfloor.Packer{NeedMM: 10, PiecesMM: []float64{11}, SumMM: 11, OverMM: 1}},
		{"ThickestFirst", 18, 0, underfloor.Stock{SizesMM: []float64{9, 6, 12}, MaxPieces: 2}, underfloor.Packer{NeedMM: 18, PiecesMM: []float64{12, 6}, SumMM: 18}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.stock.Packer(tt.gap, tt.bedding)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// Against trying all stacks: as few pieces, and none closer.
func TestPackerAgainstAll(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for range 400 {
		s := underfloor.Stock{MaxPieces: 1 + r.IntN(4), WithinMM: float64(r.IntN(4)) / 2}
		for range 1 + r.IntN(5) {
			s.SizesMM = append(s.SizesMM, float64(1+r.IntN(60))/2)
		}
		need := float64(1+r.IntN(120)) / 2
		got, err := s.Packer(need, 0)
		if err != nil {
			t.Fatal(err)
		}
		n, off := fewest(s, need)
		switch {
		case n == 0 != got.Cut:
			t.Fatalf("%+v for %g: %+v, all stacks say %d pieces", s, need, got, n)
		case n > 0 && (len(got.PiecesMM) != n || math.Abs(math.Abs(got.OverMM)-off) > 1e-9):
			t.Fatalf("%+v for %g: %+v, best is %d pieces, off by %g", s, need, got, n, off)
		}
		for _, x := range got.PiecesMM {
			if !got.Cut && !slices.Contains(s.SizesMM, x) {
				t.Fatalf("%g is not in stock: %+v", x, s)
			}
		}
	}
}

func fewest(s underfloor.Stock, need float64) (n int, off float64) {
	level := map[float64]bool{0: true}
	for n = 1; n <= s.MaxPieces; n++ {
		next, best := map[float64]bool{}, math.Inf(1)
		for sum := range level {
			for _, x := range s.SizesMM {
				next[sum+x] = true
				best = math.Min(best, math.Abs(sum+x-need))
			}
		}
		if best <= s.WithinMM+1e-9 {
			return n, best
		}
		level = next
	}
	return 0, 0
}

func TestPackerBad(t *testing.T) {
	ok := underfloor.Stock{SizesMM: []float64{6}, MaxPieces: 1}
	for _, tt := range []struct {
		gap, bedding float64
		s            underfloor.Stock
		field        string
	}{
		{-1, 0, ok, "gap_mm"}, {0, 0, ok, "gap_mm"}, {1e300, 0, ok, "gap_mm"}, {math.NaN(), 0, ok, "gap_mm"}, {5, -1, ok, "bedding_mm"},
		{5, 0, underfloor.Stock{SizesMM: []float64{6, 0}, MaxPieces: 1}, "stock_mm[1]"},
		{5, 0, underfloor.Stock{SizesMM: []float64{6}}, "max_pieces"},
		{5, 0, underfloor.Stock{SizesMM: []float64{6}, MaxPieces: 1, WithinMM: -1}, "within_mm"},
	} {
		_, err := tt.s.Packer(tt.gap, tt.bedding)
		wantBad(t, err, tt.field)
	}
}

// structure.md §3: EN 338:2016 has D30 at 5.3 MPa across the grain, the edition of
// 2003 had 8.0; DF-L of 3.5 in square takes 7 656 lb (NDS, second-hand).
func TestCrushing(t *testing.T) {
	const side = 3.5 * 25.4
	if said := underfloor.Crushing(7656/224.809*0.999, side, side, []string{"DF-L"}); said != "" {
		t.Errorf("just below: %q", said)
	}
	if said := underfloor.Crushing(7656/224.809*1.001, side, side, []string{"df-l", "D60"}); !strings.Contains(said, "DF-L takes 4.3") {
		t.Errorf("just above: %q", said)
	}
	if said := underfloor.Crushing(60, 100, 100, []string{"D30"}); !strings.Contains(said, "5.3 across the grain (EN 338:2016") {
		t.Errorf("6 MPa on D30: %q", said)
	}
	if said := underfloor.Crushing(1e6, 100, 100, []string{"old hardwood"}); said != "" {
		t.Errorf("nobody knows what it takes: %q", said)
	}
}

// 24 CFR 3285.304, read: shims fill 1 in. MBIE, read: 100 mm, the full width.
func TestPackingRules(t *testing.T) {
	for _, tt := range []struct {
		rule   string
		pieces []float64
		full   bool
		breaks bool
	}{
		{"24cfr-3285-304", []float64{25}, true, false}, {"24cfr-3285-304", []float64{20, 20}, true, true}, {"24cfr-3285-304", []float64{50, 20}, true, false},
		{"24cfr-3285-304", []float64{150}, true, true}, {"mbie", []float64{100}, true, false}, {"mbie", []float64{60, 60}, true, true}, {"mbie", []float64{20}, false, true},
	} {
		r, known := underfloor.FindPackingRule(tt.rule)
		if !known || r.Source == "" {
			t.Fatalf("%s: %+v", tt.rule, r)
		}
		if said := r.Breaks(tt.pieces, tt.full); (said != "") != tt.breaks {
			t.Errorf("%s %v: %q", tt.rule, tt.pieces, said)
		}
	}
}
