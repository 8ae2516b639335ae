package underfloor

import "fmt"

// PackingRule is what a published rule allows between support and bearer.
type PackingRule struct {
	Name, Title, Source string
	breaks              func(piecesMM []float64, fullWidth bool) string
}

// Breaks says in words what a packer breaks, "" where nothing.
func (r PackingRule) Breaks(piecesMM []float64, fullWidth bool) string {
	return r.breaks(piecesMM, fullWidth)
}

const inch = 25.4

var packingRules = []PackingRule{
	{"24cfr-3285-304", "Manufactured homes, US", "24 CFR 3285.304 (2015)", func(pieces []float64, full bool) string {
		shims := 0.0
		for _, x := range pieces {
			switch {
			case x <= inch:
				shims += x
			case x > 4*inch:
				return fmt.Sprintf("a piece of %.0f mm: above 1 in a plate as far as 2 in or a block of 2 or 4 in is used", x)
			}
		}
		if shims > inch {
			return fmt.Sprintf("%.0f mm of shims: they fill 1 in (25 mm) at most, and a hardwood plate or a block the rest", shims)
		}
		return ""
	}},
	{"mbie", "New Zealand, Canterbury guidance", "MBIE guidance", func(pieces []float64, full bool) string {
		sum := 0.0
		for _, x := range pieces {
			sum += x
		}
		switch {
		case sum > 100:
			return fmt.Sprintf("%.0f mm of packing: one pile is packed 100 mm at most, and replaced beyond it", sum)
		case !full:
			return "packers bear on the full width of bearer and pile top; they are of H3.2 timber at least, and the bearer is fixed again"
		}
		return ""
	}},
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
