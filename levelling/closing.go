package levelling

import "math"

// ClosingRule is what a level run may miss its end by: so many mm at one
// kilometre, and with the square root of the length. Somebody publishes it for
// runs across country.
type ClosingRule struct {
	Name   string
	PerKM  float64 // mm at one kilometre
	Source string
}

// ClosingRules are the published ones, the strictest first.
func ClosingRules() []ClosingRule {
	return []ClosingRule{
		{"first order", 4, "Australian instructions for first-order levelling"},
		{"third order", 12, "South Australia, levelling order 3"},
		{"fourth order", 18, "South Australia, levelling order 4"},
	}
}

// Allowed is the misclosure in mm that a run of so many metres may have. At the
// size of a house the rule allows less than a staff can be read to, so a limit
// for each set-up, which is the firm's own, holds where it is more; it grows with
// the square root of their number, as chance does.
func (r ClosingRule) Allowed(metres float64, setups int, perSetupMM float64) (float64, error) {
	switch {
	case !finite(metres) || metres < 0:
		return 0, Bad("length_m", "the length of the run in m, 0 or more")
	case setups < 1:
		return 0, Bad("setups", "how often the instrument was set up, at least once")
	case !finite(perSetupMM) || perSetupMM < 0:
		return 0, Bad("per_setup_mm", "the firm's own limit for one set-up in mm, 0 or more")
	}
	allowed := max(r.PerKM*math.Sqrt(metres/1000), perSetupMM*math.Sqrt(float64(setups)))
	if !finite(allowed) {
		return 0, Bad("per_setup_mm", "a smaller limit: the misclosure goes beyond what a number holds")
	}
	return allowed, nil
}
