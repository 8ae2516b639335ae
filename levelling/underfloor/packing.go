package underfloor

import (
	"fmt"
	"math"
	"strconv"
)

// PackingRule is what a published rule allows between support and bearer. A
// limit of 0 is one that the rule does not have.
type PackingRule struct {
	Name, Title, Source string
	MostMM              float64  // of packing on one support
	ShimsMM             float64  // of shims, which are pieces up to so thick
	PlateMM             float64  // of one plate; what is thicker is a block
	BlockMM             float64  // of one block
	FullWidth           bool     // packers bear on the full width of bearer and support
	Limits              []string // all of them in words, and what no thickness shows
}

const inch = 25.4

var packingRules = []PackingRule{
	{
		Name: "24cfr-3285-304", Title: "Manufactured homes, US", Source: "24 CFR 3285.304 (2015)",
		ShimsMM: 1 * inch, PlateMM: 2 * inch, BlockMM: 4 * inch,
		Limits: []string{
			"shims are 4 by 6 by 1 in, driven in pairs, and fill 1 in (25 mm) at most",
			"the rest is filled by a hardwood plate of 2 in (51 mm) at most, or a block of 2 or 4 in",
			"a pier is capped by at least 4 in of masonry, 2 in of timber or ½ in of steel",
		},
	},
	{
		Name: "mbie", Title: "New Zealand, Canterbury guidance",
		Source: "MBIE, Repairing and rebuilding houses affected by the Canterbury earthquakes",
		MostMM: 100, FullWidth: true,
		Limits: []string{
			"one pile is packed 100 mm at most, and replaced beyond it",
			"packers bear on the full width of bearer and pile top",
			"packers are of H3.2 timber at least",
			"the bearer is fixed again",
		},
	},
}

// PackingRules lists the rules that a firm can choose from.
func PackingRules() []PackingRule { return append([]PackingRule(nil), packingRules...) }

// FindPackingRule returns a rule by its name.
func FindPackingRule(name string) (PackingRule, bool) {
	for _, r := range packingRules {
		if r.Name == name {
			return r, true
		}
	}
	return PackingRule{}, false
}

// Breaks says in a sentence which limit a packer breaks, "" where none: what a
// rule asks beside thickness and width it cannot tell.
func (r PackingRule) Breaks(piecesMM []float64, fullWidth bool) string {
	var sum, thin, thickest float64
	for _, piece := range piecesMM {
		sum += piece
		thickest = max(thickest, piece)
		if piece <= r.ShimsMM {
			thin += piece
		}
	}
	switch {
	case r.MostMM > 0 && sum > r.MostMM:
		return fmt.Sprintf("%s mm of packing: one support is packed %s mm at most, and replaced beyond it", tenths(sum), tenths(r.MostMM))
	case r.ShimsMM > 0 && thin > r.ShimsMM:
		return fmt.Sprintf("%s mm of shims: they fill %s mm at most, and a hardwood plate or a block the rest", tenths(thin), tenths(r.ShimsMM))
	case r.BlockMM > 0 && thickest > r.BlockMM:
		return fmt.Sprintf("%s mm in one piece: a block is %s mm at most", tenths(thickest), tenths(r.BlockMM))
	case r.PlateMM > 0 && thickest > r.PlateMM:
		return fmt.Sprintf("%s mm in one piece: a plate is %s mm at most, so that it has to be a block", tenths(thickest), tenths(r.PlateMM))
	case r.FullWidth && !fullWidth:
		return "packers bear on the full width of bearer and support"
	}
	return ""
}

// tenths writes a length to 0.1 mm, and whole where it is.
func tenths(mm float64) string {
	return strconv.FormatFloat(math.Round(float64(mm*10))/10, 'f', -1, 64)
}
