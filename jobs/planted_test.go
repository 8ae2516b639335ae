package jobs_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// survey is a floor of thirty supports read twice, on two set-ups that both
// open and close on two datums, with errors of ± 0.5 mm by a fixed seed and one
// fault planted.
type survey struct {
	*site
	names  []string
	height map[string]float64 // true, mm
	noise  *rand.Rand
	fault  func(round, n int, staff float64) float64 // what the n-th reading of a round becomes
	datum  func(round int, closing bool, name string, staff float64) float64
}

func newSurvey(t *testing.T) *survey {
	v := &survey{site: newSite(t), height: map[string]float64{"D1": 0, "D2": 80}, noise: rand.New(rand.NewPCG(7, 7))}
	plan := events.Plan{Datums: []events.Datum{{ID: "D1", X: -1, Height: mm(0)}, {ID: "D2", X: 12, Height: mm(80)}}}
	for n := range 30 {
		name := fmt.Sprintf("B%d-%d", n/6+1, n%6+1)
		v.names = append(v.names, name)
		v.height[name] = float64(-n * 7 % 31)
		plan.Supports = append(plan.Supports, events.Support{ID: name, X: float64(n%6) * 1.8, Y: float64(n/6) * 2.1})
	}
	v.record(events.KindPlan, plan)
	v.fault = func(_, _ int, staff float64) float64 { return staff }
	v.datum = func(_ int, _ bool, _ string, staff float64) float64 { return staff }
	return v
}

func (v *survey) staff(name string) float64 { return 1000 - v.height[name] + v.noise.NormFloat64()/2 }

func (v *survey) datums(round int, closing bool) (all []events.DatumReading) {
	for _, name := range []string{"D1", "D2"} {
		all = append(all, events.DatumReading{Datum: name, Staff: mm(v.datum(round, closing, name, v.staff(name)))})
	}
	return all
}

// play records both rounds.
func (v *survey) play() jobs.Picture {
	for round := range 2 {
		u := v.record(events.KindSetup, events.Setup{Instrument: "laser", Datums: v.datums(round, false)})
		for n, name := range v.names {
			v.read(u, name, v.fault(round, n, v.staff(name)))
		}
		v.record(events.KindSetupClosed, events.SetupClosed{Setup: u, Datums: v.datums(round, true)})
	}
	return v.picture()
}

// one spoils the n-th reading of a round.
func one(round, n int, by float64) func(*survey) {
	return func(v *survey) {
		v.fault = func(r, i int, staff float64) float64 {
			if r == round && i == n {
				return staff + by
			}
			return staff
		}
	}
}

// swapped writes two readings of the second round beside each other's names.
func swapped(a, b int) func(*survey) {
	return func(v *survey) {
		by := v.height[v.names[a]] - v.height[v.names[b]]
		v.fault = func(r, i int, staff float64) float64 {
			switch {
			case r == 1 && i == a:
				return staff + by
			case r == 1 && i == b:
				return staff - by
			}
			return staff
		}
	}
}

// kicked lowers the beam after the n-th reading of a round.
func kicked(round, n int, by float64) func(*survey) {
	return func(v *survey) {
		v.fault = func(r, i int, staff float64) float64 {
			if r == round && i >= n {
				return staff - by
			}
			return staff
		}
		v.datum = func(r int, closing bool, _ string, staff float64) float64 {
			if r == round && closing {
				return staff - by
			}
			return staff
		}
	}
}

func sank(by float64) func(*survey) {
	return func(v *survey) {
		v.datum = func(round int, _ bool, name string, staff float64) float64 {
			if round == 1 && name == "D2" {
				return staff + by
			}
			return staff
		}
	}
}

// What is caught of what can go wrong, and what is missed and why. A reading is
// ± 1, so two that differ by less than about 5 mm could both be right; what no
// other reading contradicts cannot be seen at all.
func TestPlantedFaults(t *testing.T) {
	tests := []struct {
		name    string
		plant   func(*survey)
		doubts  []string // the supports that are in doubt by their own readings, in order
		setup   int      // the set-up in doubt, counted from 1; 0 none
		because string   // what is said, or why nothing is
	}{
		{"nothing", func(*survey) {}, nil, 0, ""},
		{"10 mm, read again later", one(1, 8, 10), []string{"B2-3"}, 0, "mm below what the one reading before it says"},
		{"10 mm, in the first round: nobody is named", one(0, 8, 10), []string{"B2-3"}, 0, "mm above what the one reading before it says"},
		{"100 mm", one(1, 20, -100), []string{"B4-3"}, 0, "mm above what the one reading before it says"},
		{"2 mm: two readings of ± 1 may differ by that", one(1, 8, 2), nil, 0, ""},
		{"two points swapped", swapped(3, 9), []string{"B1-4", "B2-4"}, 0, "what the one reading before it says"},
		{"two points of like height swapped: the same figures", swapped(0, 9), nil, 0, ""},
		{"a datum that sank 4 mm: which of the two, they cannot tell", sank(4), nil, 2, "datums, opening and closing taken together, disagree by 4 mm"},
		{"a datum that sank 2 mm: less than a reading is worth", sank(2), nil, 0, ""},
		{"the laser kicked by 12 mm half way", kicked(1, 15, 12), everyFrom(15), 2, "in doubt"},
		{"the laser kicked by 12 mm in the first round: only the closing reading can tell", kicked(0, 15, 12), nil, 1, "in doubt"},
		{"the laser kicked by 2 mm: less than a reading is worth", kicked(1, 15, 2), nil, 0, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v := newSurvey(t)
			tt.plant(v)
			p := v.play()
			if got := oddOnes(p, v.names); !slices.Equal(got, tt.doubts) {
				t.Errorf("in doubt: %q, want %q", got, tt.doubts)
			}
			for i, u := range p.Setups {
				if n := len(p.Setups) - i; (u.Doubt != "") != (n == tt.setup) {
					t.Errorf("set-up %d: %q", n, u.Doubt)
				}
			}
			said := fmt.Sprint(p.Flags)
			if !strings.Contains(said, tt.because) || (tt.because == "" && len(p.Flags) > 0) {
				t.Errorf("%q is not among what is said: %s", tt.because, said)
			}
		})
	}
}

func everyFrom(first int) (names []string) {
	for n := first; n < 30; n++ {
		names = append(names, fmt.Sprintf("B%d-%d", n/6+1, n%6+1))
	}
	return names
}

// oddOnes lists the supports with a reading kept apart.
func oddOnes(p jobs.Picture, names []string) (odd []string) {
	for _, f := range p.Flags {
		name, _, said := strings.Cut(f.Text, ": about ")
		if said && slices.Contains(names, name) && !slices.Contains(odd, name) {
			odd = append(odd, name)
		}
	}
	return odd
}
