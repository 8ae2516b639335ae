package underfloor

import (
	"fmt"
	"math"
	"slices"

	"relevel/levelling"
)

// Stock is what packers are made of: any number of each size.
type Stock struct {
	SizesMM   []float64
	MaxPieces int     // most on one another
	WithinMM  float64 // how far the sum may be off
}

// Packer is what fills a gap.
type Packer struct {
	NeedMM   float64
	PiecesMM []float64 // thickest first; one, cut to size, where CutFrom is not nil or nothing is thick enough
	SumMM    float64
	OverMM   float64 // negative when short
	Cut      bool    // one piece, cut to size
	CutFrom  *float64
}

// What a packer may measure. A gap of ten metres is no gap, and the sums of all
// sizes are counted in thousandths.
const (
	perMM     = 1000
	mostGapMM = 10_000
	mostSums  = 400_000_000 // sizes × pieces × thousandths / 64, looked at once each
)

// Packer finds the fewest pieces whose sum fills a gap together with what the
// packer will bed in by, and of those the closest, rather over than short and in
// the thickest pieces; else one piece cut to size from the thinnest that is thick
// enough. Common practice is one solid piece cut to the measured gap (no source).
func (s Stock) Packer(gapMM, beddingMM float64) (Packer, error) {
	if err := s.check(gapMM, beddingMM); err != nil {
		return Packer{}, err
	}
	want := thousandths(gapMM + beddingMM)
	p := Packer{NeedMM: mm(want)}
	sizes := s.sizes(want)
	if pieces, found := s.stack(sizes, want); found {
		sum := 0
		for _, x := range pieces {
			p.PiecesMM = append(p.PiecesMM, mm(x))
			sum += x
		}
		p.SumMM, p.OverMM = mm(sum), mm(sum-want)
		return p, nil
	}
	p.Cut, p.PiecesMM, p.SumMM = true, []float64{p.NeedMM}, p.NeedMM
	thick := math.Inf(1)
	for _, x := range s.SizesMM {
		if thousandths(x) >= want {
			thick = math.Min(thick, x)
		}
	}
	if !math.IsInf(thick, 1) {
		p.CutFrom = &thick
	}
	return p, nil
}

func thousandths(x float64) int { return int(math.Round(float64(x * perMM))) }
func mm(x int) float64          { return float64(x) / perMM }

func (s Stock) check(gap, bedding float64) error {
	err := first(
		need(atLeast(gap, 0) && gap <= mostGapMM, "gap_mm", "the gap in mm, 0 or more and at most 10 000"),
		need(atLeast(bedding, 0) && bedding <= mostGapMM, "bedding_mm", "what the packer will bed in by in mm, 0 or more and at most 10 000"),
		need(thousandths(gap+bedding) > 0, "gap_mm", "the gap in mm: there is none to fill"),
		need(s.MaxPieces >= 1 && s.MaxPieces <= 1000, "max_pieces", "how many pieces may lie on one another, 1 to 1 000"),
		need(atLeast(s.WithinMM, 0), "within_mm", "how far the sum may be off in mm, 0 or more"))
	if err != nil {
		return err
	}
	for i, x := range s.SizesMM {
		if !above(x, 0) {
			return levelling.Bad(fmt.Sprintf("stock_mm[%d]", i), "a thickness in mm, above 0")
		}
	}
	return nil
}

// sizes are those that can be part of a stack, in thousandths, thickest first.
func (s Stock) sizes(want int) []int {
	most := want + s.slack(want)
	var out []int
	for _, x := range s.SizesMM {
		if t := thousandths(math.Min(x, 2*mostGapMM*2)); t > 0 && t <= most {
			out = append(out, t)
		}
	}
	slices.SortFunc(out, func(a, b int) int { return b - a })
	return slices.Compact(out)
}

// slack is how far off a sum may be: no more than the whole, since a stack is
// something.
func (s Stock) slack(want int) int {
	return min(want, int(math.Floor(float64(math.Min(s.WithinMM, 2*mostGapMM)*perMM)+1e-6)))
}

// stack looks for the sums of one piece, of two and so on. Of each number of
// pieces it keeps which sums there are, a bit each, and stops at the first number
// of which one is near enough.
func (s Stock) stack(sizes []int, want int) ([]int, bool) {
	slack := s.slack(want)
	sums := []bits{newBits(want + slack)}
	sums[0].set(0)
	work := 0
	for n := 1; n <= s.MaxPieces && len(sizes) > 0; n++ {
		next := newBits(want + slack)
		for _, x := range sizes {
			next.or(sums[n-1], x)
		}
		if work += len(sizes) * len(next); work > mostSums {
			return nil, false
		}
		sums = append(sums, next)
		if sum, found := next.nearest(want, slack); found {
			return pieces(sums, sizes, sum), true
		}
		if next.none() {
			break
		}
	}
	return nil, false
}

// pieces takes a sum apart again, thickest first.
func pieces(sums []bits, sizes []int, sum int) []int {
	var out []int
	for n := len(sums) - 1; n > 0; n-- {
		for _, x := range sizes {
			if sum >= x && sums[n-1].has(sum-x) {
				out, sum = append(out, x), sum-x
				break
			}
		}
	}
	slices.SortFunc(out, func(a, b int) int { return b - a })
	return out
}

// bits is a set of whole numbers from 0.
type bits []uint64

func newBits(last int) bits   { return make(bits, last/64+1) }
func (b bits) set(i int)      { b[i/64] |= 1 << (i % 64) }
func (b bits) has(i int) bool { return b[i/64]&(1<<(i%64)) != 0 }
func (b bits) none() bool     { return !slices.ContainsFunc(b, func(w uint64) bool { return w != 0 }) }

// or adds every number of another set, so much larger.
func (b bits) or(other bits, by int) {
	words, shift := by/64, by%64
	for i := len(b) - 1; i >= words; i-- {
		w := other[i-words] << shift
		if shift > 0 && i > words {
			w |= other[i-words-1] >> (64 - shift)
		}
		b[i] |= w
	}
}

// nearest is the number of the set that is nearest to one, rather above it.
func (b bits) nearest(want, slack int) (int, bool) {
	for off := range slack + 1 {
		if i := want + off; i/64 < len(b) && b.has(i) {
			return i, true
		}
		if i := want - off; i > 0 && b.has(i) {
			return i, true
		}
	}
	return 0, false
}
