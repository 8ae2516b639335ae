package underfloor

import (
	"fmt"
	"math"

	"relevel/levelling"
)

// Stock is what packers are made of: any number of each size.
type Stock struct {
	SizesMM   []float64 // in any order
	MaxPieces int       // most on one another
	WithinMM  float64   // how far the sum may be off
}

// Packer is what fills a gap: pieces of stock on one another, or one piece cut
// to size.
type Packer struct {
	NeedMM   float64
	PiecesMM []float64 // thickest first; where Cut, the one piece
	SumMM    float64
	OverMM   float64 // above the need; negative when short
	Cut      bool
	CutFrom  *float64 // the thinnest of the stock that is thick enough, nil where none is
}

// mostGapMM is a kilometre, which is no gap: up to there lengths are counted in
// whole nanometres without loss.
const mostGapMM = 1e6

// mostPieces bounds the length of an answer.
const mostPieces = 10_000

// Packer fills a gap and what the packer will bed in by. Of all stacks that are
// within what the sum may be off it takes one of the fewest pieces, of those the
// closest, of two as close the thicker, since short leaves the floor below its
// target, and of the same sum the one with the thickest pieces. Where no stack
// does it is one piece cut to size (common practice, no source: one solid piece
// cut to the measured gap). Errors are InputErrors, also where there are more
// sums than can be tried.
func (s Stock) Packer(gapMM, beddingMM float64) (Packer, error) {
	if err := s.check(gapMM, beddingMM); err != nil {
		return Packer{}, err
	}
	want := nanometres(gapMM) + nanometres(beddingMM)
	if want == 0 {
		return Packer{}, levelling.Bad("gap_mm", "the gap in mm: there is none to fill")
	}
	stack, err := s.search(want).fewest()
	if err != nil {
		return Packer{}, err
	}
	if len(stack) == 0 {
		return s.cut(want), nil
	}
	p := Packer{NeedMM: millimetres(want)}
	sum := int64(0)
	for _, piece := range stack {
		p.PiecesMM = append(p.PiecesMM, millimetres(piece))
		sum += piece
	}
	p.SumMM, p.OverMM = millimetres(sum), millimetres(sum-want)
	return p, nil
}

// cut is one piece of the thickness that is needed.
func (s Stock) cut(want int64) Packer {
	p := Packer{NeedMM: millimetres(want), PiecesMM: []float64{millimetres(want)}, SumMM: millimetres(want), Cut: true}
	for _, size := range s.SizesMM {
		if nanometres(size) >= want && (p.CutFrom == nil || size < *p.CutFrom) {
			p.CutFrom = &size
		}
	}
	return p
}

func (s Stock) check(gap, bedding float64) error {
	err := first(
		need(atLeast(gap, 0) && gap <= mostGapMM, "gap_mm", "the gap in mm, 0 or more and at most 1 000 000"),
		need(atLeast(bedding, 0) && bedding <= mostGapMM, "bedding_mm", "what the packer will bed in by in mm, 0 or more and at most 1 000 000"),
		need(s.MaxPieces >= 1 && s.MaxPieces <= mostPieces, "max_pieces", "how many pieces may lie on one another, 1 to 10 000"),
		need(atLeast(s.WithinMM, 0), "within_mm", "how far the sum may be off in mm, 0 or more"))
	if err != nil {
		return err
	}
	for i, size := range s.SizesMM {
		if !above(size, 0) {
			return levelling.Bad(fmt.Sprintf("stock_mm[%d]", i), "a thickness in mm, above 0")
		}
	}
	return nil
}

// perMM is nanometres, in which sums and differences of decimals are exact.
const perMM = 1_000_000

// nanometres counts a length; what is longer than any packer counts as that.
func nanometres(mm float64) int64 {
	return int64(math.Round(float64(math.Min(mm, 4*mostGapMM) * perMM)))
}

func millimetres(nm int64) float64 { return float64(nm) / perMM }
