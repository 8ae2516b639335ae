package levelling_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"

	"relevel/levelling"
	"relevel/levelling/bitstest"
)

// The same input gives the same outcome to the last bit on every kind of
// machine: networks, targets by every aim, verdicts by every profile, filters.
func TestBits(t *testing.T) {
	const n = 1000
	for name, play := range map[string]func(dice) any{
		"networks": playNetwork, "goals": playGoal, "verdicts": playVerdict, "filters": playFilter,
	} {
		t.Run(name, func(t *testing.T) {
			bitstest.Same(t, "testdata/bits-"+name+".txt", name, n, func(number uint64) any {
				return play(dice{rand.New(rand.NewPCG(number, 4))})
			})
		})
	}
}

// outcome is what a calculation returns, or the field and cure of its error.
type outcome struct {
	Of  any
	Bad *levelling.InputError
}

func came(of any, err error) outcome {
	var bad *levelling.InputError
	errors.As(err, &bad)
	return outcome{of, bad}
}

// dice draws inputs. It takes numbers from one generator in a fixed order, so
// that they are the same everywhere.
type dice struct{ *rand.Rand }

// mm is a length with all its digits, or in whole mm.
func (d dice) mm(low, high int) float64 {
	if d.IntN(3) == 0 {
		return float64(low + d.IntN(high-low+1))
	}
	return float64(low) + float64(d.Float64()*float64(high-low))
}

func (d dice) sd() float64 { return 0.1 + float64(d.Float64()*3) }

func playNetwork(d dice) any {
	net := levelling.Network{Alpha: []float64{0.05, 0.01, 0.001}[d.IntN(3)]}
	points := 2 + d.IntN(12)
	name := func(i int) string { return fmt.Sprint("P", i) }
	for i := range 1 + d.IntN(2) {
		net.Fixed = append(net.Fixed, levelling.FixedPoint{Point: name(i), HeightMM: d.mm(-1000, 1000)})
	}
	for i := 1; i < points; i++ {
		net.Differences = append(net.Differences, levelling.Difference{From: name(d.IntN(i)), To: name(i), RiseMM: d.mm(-100, 100), SD: d.sd()})
	}
	for range d.IntN(points) {
		two := d.Perm(points)
		net.Differences = append(net.Differences, levelling.Difference{From: name(two[0]), To: name(two[1]), RiseMM: d.mm(-100, 100), SD: d.sd()})
	}
	for i := range d.IntN(30) {
		net.Readings = append(net.Readings, levelling.StaffReading{Setup: fmt.Sprint("S", i%4), Point: name(d.IntN(points)), StaffMM: d.mm(900, 1100), SD: d.sd()})
	}
	return came(net.Adjust())
}

// floor is points on a small plan.
func (d dice) floor() []levelling.AimPoint {
	points := make([]levelling.AimPoint, 1+d.IntN(20))
	for i := range points {
		p := levelling.AimPoint{ID: fmt.Sprint("P", i), X: d.mm(0, 9), Y: d.mm(0, 7), Room: []string{"hall", "den"}[d.IntN(2)], HeightMM: d.mm(-20, 20)}
		switch d.IntN(8) {
		case 0:
			p.Fixed = true
		case 1:
			most := d.mm(0, 20)
			p.MaxLift = &most
		case 2:
			p.MaxLower = d.mm(0, 5)
		}
		points[i] = p
	}
	return points
}

func (d dice) limits() []levelling.Limit {
	all := []levelling.Limit{
		{Kind: levelling.RangeLimit, MM: d.mm(5, 30)},
		{Kind: levelling.PairLimit, OverM: d.mm(1, 5), MM: d.mm(3, 9), Rule: levelling.Flat},
		{Kind: levelling.PairLimit, OverM: d.mm(1, 5), MM: d.mm(3, 9), Rule: levelling.Proportional},
		{Kind: levelling.PairLimit, OverM: 8, Rule: levelling.Linear, Table: []levelling.LimitRow{{Metres: 1, MM: d.mm(2, 4)}, {Metres: 8, MM: d.mm(5, 9)}}},
	}
	return all[d.IntN(2) : 2+d.IntN(3)]
}

func playGoal(d dice) any {
	goal := levelling.Goal{
		Aim:      []levelling.Aim{levelling.AimLevel, levelling.AimHighest, levelling.AimPlane, levelling.AimLeast, levelling.AimLeast}[d.IntN(5)],
		HeightMM: d.mm(-5, 20), MarginMM: d.Float64(), SlopeX: d.mm(-3, 3), SlopeY: d.mm(-3, 3),
	}
	profiles := levelling.Profiles()
	if at := d.IntN(len(profiles) * 2); at < len(profiles) {
		goal.Profile = profiles[at]
	} else {
		goal.Limits = d.limits()
	}
	points := d.floor()
	x, y := levelling.BestSlope(points)
	return []any{came(goal.Targets(points)), x, y}
}

func playVerdict(d dice) any {
	var points []levelling.LevelPoint
	var neighbours [][2]string
	for i, p := range d.floor() {
		points = append(points, levelling.LevelPoint{ID: p.ID, X: p.X, Y: p.Y, Height: levelling.Height{MM: p.HeightMM / 3, SD: d.sd() / 3}})
		if i > 0 {
			neighbours = append(neighbours, [2]string{points[i-1].ID, p.ID})
		}
	}
	var all []any
	for _, p := range append(levelling.Profiles(), levelling.OwnLimits(d.limits())) {
		all = append(all, came(p.Judge(points, neighbours)))
	}
	return all
}

func playFilter(d dice) any {
	f := levelling.Filter{Limit: 8 + d.IntN(8)}
	known := []levelling.Unknown{f.Hold(levelling.Height{MM: d.mm(-1000, 1000), SD: d.sd()})}
	one := func() levelling.Unknown { return known[d.IntN(len(known))] }
	var all []any
	for range 10 + d.IntN(40) {
		switch d.IntN(5) {
		case 0, 1:
			known = append(known, f.Enter(one(), d.mm(-100, 100), d.sd()))
		case 2:
			f.Move([]levelling.Unknown{one()}, d.mm(-9, 9), d.sd())
		default:
			upper, lower, by, sd := one(), one(), d.mm(-100, 100), d.sd()
			byMM, odd := f.Test(upper, lower, by, sd)
			f.Observe(upper, lower, by, sd)
			all = append(all, byMM, odd, f.Between(upper, lower))
		}
	}
	for _, u := range known {
		all = append(all, f.Height(u))
	}
	return all
}
