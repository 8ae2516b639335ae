package underfloor_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/levelling/underfloor"
)

func stack(need float64, pieces ...float64) underfloor.Packer {
	p := underfloor.Packer{NeedMM: need, PiecesMM: pieces}
	sum := 0
	for _, piece := range pieces {
		sum += int(math.Round(piece * 1e6))
	}
	p.SumMM, p.OverMM = float64(sum)/1e6, float64(sum-int(math.Round(need*1e6)))/1e6
	return p
}

func cut(need float64, from *float64) underfloor.Packer {
	return underfloor.Packer{NeedMM: need, PiecesMM: []float64{need}, SumMM: need, Cut: true, CutFrom: from}
}

func TestPacker(t *testing.T) {
	usual := underfloor.Stock{SizesMM: []float64{25, 18, 12, 6, 3}, MaxPieces: 2, WithinMM: 1}
	of := func(pieces int, within float64, sizes ...float64) underfloor.Stock {
		return underfloor.Stock{SizesMM: sizes, MaxPieces: pieces, WithinMM: within}
	}
	tests := []struct {
		name         string
		gap, bedding float64
		stock        underfloor.Stock
		want         underfloor.Packer
	}{
		{"OnePiece", 18, 0, usual, stack(18, 18)},
		{"WithBedding", 18, 2.5, usual, stack(20.5, 18, 3)},
		{"BeddingAlone", 0, 3, usual, stack(3, 3)},
		{"OneBeforeTwo", 17, 0, usual, stack(17, 18)}, // though 12 and 6 are no further off
		{"Short", 19, 0, usual, stack(19, 18)},
		{"TwiceTheSame", 50, 0, usual, stack(50, 25, 25)},
		{"Cut", 22.5, 0, usual, cut(22.5, ptr(25))},
		{"CutFromTheThinnest", 22, 0, of(1, 0, 50, 25, 100), cut(22, ptr(25))},
		{"NothingThickEnough", 80, 0, usual, cut(80, nil)},
		{"EmptyStock", 8, 0, of(1, 1), cut(8, nil)},
		{"OverBeforeShort", 10, 0, of(1, 1, 9, 11), stack(10, 11)},
		{"OverBeforeShortOfTwo", 20, 0, of(2, 1, 9, 10, 12), stack(20, 10, 10)},
		{"OverBeforeShortOfThree", 20, 0, of(3, 1, 7), stack(20, 7, 7, 7)},
		{"ThickestFirst", 18, 0, of(2, 0, 9, 6, 12), stack(18, 12, 6)},
		{"NoGreed", 24, 0, of(3, 0, 25, 12, 18, 5), stack(24, 12, 12)},
		{"FewestNotGreedy", 30, 0, of(3, 0, 20, 15, 8, 2), stack(30, 15, 15)},
		{"Decimals", 0.3, 0, of(2, 0, 0.1, 0.2), stack(0.3, 0.2, 0.1)}, // 0.30000000000000004 in floats
		{"WithinIsInclusive", 0.3, 0, of(1, 0.1, 0.4), stack(0.3, 0.4)},
		{"Sixteenths", 7.9375, 0, of(2, 0, 1.5875, 6.35), stack(7.9375, 6.35, 1.5875)},
		{"InchesBesideMM", 26.5875, 0, of(2, 0, 25, 1.5875), stack(26.5875, 25, 1.5875)},
		{"ThirdsOfAnInch", 33.866667, 0, of(2, 0.01, 25.4, 8.466666666666667, 18), stack(33.866667, 25.4, 8.466667)},
		{"ListedTwice", 36, 0, of(2, 0, 18, 18), stack(36, 18, 18)},
		{"WithinPastTheNeed", 2, 0, of(3, 30, 17, 36), stack(2, 17)},
		{"WithinPastAll", 10, 0, of(2, 1e300, 3, 12), stack(10, 12)},
		{"NeverNoPieces", 1, 0, of(2, 2, 9), cut(1, ptr(9))}, // though nothing at all is within 2
		{"MoreThanReached", 12, 0, of(10_000, 0, 3), stack(12, 3, 3, 3, 3)},
		{"LargeStock", 5, 0, of(3, 0, 1e308, 7), cut(5, ptr(7))},
		{"LargeGap", 1e6, 0, of(2, 0, 25, 5e5), stack(1e6, 5e5, 5e5)},
		{"LargeGapInTenths", 1e6, 0, of(2, 0.2, 600000.1, 400000.2, 399999.8), stack(1e6, 600000.1, 399999.8)},
		{"NoCommonMeasure", 44.413, 0, of(12, 0, 12.855539, 2.450366, 6.026312, 1.000001), cut(44.413, nil)},
	}
	for _, tt := range tests {
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

func TestPackerBad(t *testing.T) {
	ok := underfloor.Stock{SizesMM: []float64{25, 6}, MaxPieces: 1, WithinMM: 1}
	for _, x := range odd {
		_, err := ok.Packer(x, 0)
		wantBad(t, err, "gap_mm")
		_, err = ok.Packer(5, x)
		wantBad(t, err, "bedding_mm")
		s := ok
		s.WithinMM = x
		_, err = s.Packer(5, 0)
		wantBad(t, err, "within_mm")
		s = ok
		s.SizesMM = []float64{25, x}
		_, err = s.Packer(5, 0)
		wantBad(t, err, "stock_mm[1]")
	}
	for _, gap := range []float64{0, 1e-9, 1e300} {
		_, err := ok.Packer(gap, 0)
		wantBad(t, err, "gap_mm")
	}
	_, err := ok.Packer(0, 1e300)
	wantBad(t, err, "bedding_mm")
	_, err = underfloor.Stock{SizesMM: []float64{25, 0}, MaxPieces: 1}.Packer(5, 0)
	wantBad(t, err, "stock_mm[1]")
	for _, pieces := range []int{0, -1, 10_001} {
		s := ok
		s.MaxPieces = pieces
		_, err = s.Packer(5, 0)
		wantBad(t, err, "max_pieces")
	}
}

// Against trying all stacks: as few pieces, none closer, and of those the thicker
// and the thickest first.
func TestPackerAgainstAll(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for i := range 2000 {
		s := underfloor.Stock{MaxPieces: 1 + r.IntN(4), WithinMM: float64(r.IntN(4)) / 2}
		unit := []float64{0.5, 1, 1.5875, 0.001, 7919}[i%5]
		for range 1 + r.IntN(5) {
			size := float64(1+r.IntN(60)) * unit
			if unit > 1000 { // no table holds their sums
				size += float64(r.IntN(900_001)) / 1e6
			}
			s.SizesMM = append(s.SizesMM, size)
		}
		gap := float64(1+r.IntN(120)) * unit
		got, err := s.Packer(gap, 0)
		if err != nil {
			t.Fatal(err)
		}
		best := tried{s: s, need: gap}.all()
		if (best == nil) != got.Cut || (best != nil && !cmp.Equal(best, got.PiecesMM, approx)) {
			t.Fatalf("%+v for %g: %+v, of all stacks the best is %v", s, gap, got, best)
		}
	}
}

var approx = cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-9 })

// tried goes through all stacks.
type tried struct {
	s    underfloor.Stock
	need float64
}

func (w tried) all() []float64 {
	var best []float64
	var grow func(pieces []float64)
	grow = func(pieces []float64) {
		if len(pieces) > 0 && w.better(pieces, best) {
			best = slices.Clone(pieces)
		}
		if len(pieces) == w.s.MaxPieces {
			return
		}
		for _, size := range w.s.SizesMM {
			if len(pieces) == 0 || size <= pieces[len(pieces)-1] {
				grow(append(pieces, size))
			}
		}
	}
	grow(nil)
	return best
}

func (w tried) better(a, b []float64) bool {
	const same = 1e-9
	over := func(pieces []float64) (sum float64) {
		for _, piece := range pieces {
			sum += piece
		}
		return sum - w.need
	}
	switch x, y := over(a), over(b); {
	case math.Abs(x) > w.s.WithinMM+same:
		return false
	case b == nil || len(a) != len(b):
		return b == nil || len(a) < len(b)
	case math.Abs(math.Abs(x)-math.Abs(y)) > same:
		return math.Abs(x) < math.Abs(y)
	case math.Abs(x-y) > same:
		return x > y
	}
	return slices.Compare(a, b) > 0
}

// Whatever is in stock, the answer comes soon or is refused: no search grows with
// the number of stacks there are.
func TestPackerOfMany(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	for _, tt := range []struct {
		sizes, pieces int
		unit, gap     float64
	}{
		{300, 10, 0.001, 100}, {300, 10, 0.002, 99.999}, {300, 10_000, 0.001, 150}, {200, 10, 0.5, 480}, {5, 10_000, 1e-6, 50}, {100_000, 10, 0.001, 60},
	} {
		t.Run(fmt.Sprint(tt), func(t *testing.T) {
			s := underfloor.Stock{MaxPieces: tt.pieces}
			for range tt.sizes {
				s.SizesMM = append(s.SizesMM, float64(1+r.IntN(50_000))*tt.unit)
			}
			p, err := s.Packer(tt.gap, 0)
			if err != nil {
				wantBad(t, err, "stock_mm")
				return
			}
			if !p.Cut && (len(p.PiecesMM) > tt.pieces || p.OverMM != 0) {
				t.Errorf("%d pieces, %g over", len(p.PiecesMM), p.OverMM)
			}
		})
	}
}

// FuzzPacker asks for anything: a stack is of what is in stock and near enough, a
// piece cut to size is what is needed, and anything else is refused.
func FuzzPacker(f *testing.F) {
	f.Add(18.0, 2.0, 25.0, 18.0, 3.0, 2, 1.0)
	f.Add(1e6, 1e6, 1e-6, 3e-6, 1e308, 10_000, 1e308)
	f.Add(33.866667, 0.0, 25.4, 8.466666666666667, 0.1, 9, 0.0)
	f.Add(0.000001, 0.0, 0.0000004, 1.0, 1e-320, 1, 0.0)
	f.Fuzz(func(t *testing.T, gap, bedding, a, b, c float64, pieces int, within float64) {
		s := underfloor.Stock{SizesMM: []float64{a, b, c}, MaxPieces: pieces, WithinMM: within}
		p, err := s.Packer(gap, bedding)
		if err != nil {
			checkRefused(t, err)
			return
		}
		near(t, "need", p.NeedMM, gap+bedding, 2e-6)
		near(t, "over", p.OverMM, p.SumMM-p.NeedMM, 1e-6)
		if p.Cut {
			near(t, "cut", p.SumMM, p.NeedMM, 0)
			if p.CutFrom != nil && (*p.CutFrom < p.NeedMM-2e-6 || !slices.Contains(s.SizesMM, *p.CutFrom)) {
				t.Errorf("cut from %g: %+v", *p.CutFrom, p)
			}
			return
		}
		const shown = 0.000502 // an answer is rounded to 0.001
		if n := len(p.PiecesMM); n < 1 || n > pieces || math.Abs(p.OverMM) > within+shown {
			t.Errorf("%d pieces, %g over, of %+v", n, p.OverMM, s)
		}
		for _, piece := range p.PiecesMM {
			if !slices.ContainsFunc(s.SizesMM, func(size float64) bool { return math.Abs(size-piece) <= 1e-6 }) {
				t.Errorf("%g is not in stock: %+v", piece, s)
			}
		}
	})
}
