package levelling_test

import (
	"errors"
	"math"
	"testing"

	"relevel/levelling"
)

// c·√K mm, K in km: 12 mm (South Australia order 3, read), 18 mm (order 4, read),
// 4 mm (Australian first-order instructions, read). At 50 m and 12 it is 2.7 mm
// (computed).
func TestAllowedMisclosure(t *testing.T) {
	tests := map[string]struct {
		rule            int
		metres          float64
		setups          int
		perSetup, allow float64
	}{
		"FirstOrder":     {0, 1000, 1, 0, 4},
		"ThirdOrder":     {1, 1000, 1, 0, 12},
		"FourthOrder":    {2, 4000, 1, 0, 36},
		"House":          {1, 50, 1, 0, 2.7},
		"HouseBySetups":  {1, 50, 4, 2, 4}, // two for each set-up, which is more than the rule allows
		"CountryBySetup": {1, 4000, 9, 2, 24},
		"NoLength":       {1, 0, 1, 1.5, 1.5},
	}
	for name, test := range tests {
		got, err := levelling.ClosingRules()[test.rule].Allowed(test.metres, test.setups, test.perSetup)
		if err != nil || math.Abs(got-test.allow) > 0.05 {
			t.Errorf("%s: %.3f, %v, want %g", name, got, err, test.allow)
		}
	}
}

func TestAllowedMisclosureRefused(t *testing.T) {
	rule := levelling.ClosingRules()[1]
	for field, ask := range map[string]func() (float64, error){
		"length_m":     func() (float64, error) { return rule.Allowed(-1, 1, 0) },
		"setups":       func() (float64, error) { return rule.Allowed(50, 0, 0) },
		"per_setup_mm": func() (float64, error) { return rule.Allowed(50, 4, math.MaxFloat64) },
	} {
		var bad *levelling.InputError
		if _, err := ask(); !errors.As(err, &bad) || bad.Field != field {
			t.Errorf("%v, want an error at %s", err, field)
		}
	}
}
