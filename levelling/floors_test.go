package levelling_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"relevel/levelling"
)

// randomFloor returns floor n of a fixed sequence: 5 to 25 points, some of them
// fixed, capped or allowed down, under one to three limits of any kind.
func randomFloor(n int) ([]aimPoint, goal) {
	r := rand.New(rand.NewPCG(2026, uint64(n)))
	tenth := func(low, high float64) float64 {
		return math.Round(float64(low*10)+float64((high-low)*10*r.Float64())) / 10
	}
	points := make([]aimPoint, 5+r.IntN(21))
	side := 2.5 * math.Sqrt(float64(len(points)))
	for i := range points {
		p := aimPoint{ID: fmt.Sprintf("P%02d", i), X: tenth(0, side), Y: tenth(0, side), HeightMM: tenth(-20, 5)}
		switch r.IntN(16) {
		case 0:
			p.Fixed = true
		case 1:
			mm := tenth(0, 30)
			p.MaxLift = &mm
		case 2, 3, 4:
			p.MaxLower = tenth(0, 15)
		}
		points[i] = p
	}
	g := least(tenth(0, 1))
	for range 1 + r.IntN(3) {
		g.Limits = append(g.Limits, randomLimit(r, tenth))
	}
	return points, g
}

func randomLimit(r *rand.Rand, tenth func(low, high float64) float64) levelling.Limit {
	table := []levelling.LimitRow{
		{Metres: tenth(0.5, 1.5), MM: tenth(2, 8)}, {Metres: tenth(2, 3), MM: tenth(2, 10)}, {Metres: tenth(4, 6), MM: tenth(4, 14)},
	}
	switch over := tenth(2, 5); r.IntN(5) {
	case 0:
		return overall(tenth(10, 25))
	case 1:
		return levelling.Limit{Kind: levelling.PairLimit, OverM: over, MM: tenth(4, 12), Rule: levelling.Proportional}
	case 2:
		return levelling.Limit{Kind: levelling.PairLimit, OverM: over, Rule: levelling.Bands, Table: table}
	case 3:
		return levelling.Limit{Kind: levelling.PairLimit, OverM: over, Rule: levelling.Linear, Table: table}
	default:
		return within(over, tenth(3, 10))
	}
}

// program writes the least lift as a linear program in the CPLEX format: target
// t, lift u and lowering d of every point, all limits spelt out. Without a total
// lift it minimises that; with one it holds it and minimises the lowering.
func program(points []aimPoint, g goal, totalLift *float64) string {
	var b strings.Builder
	sum := func(letter string) {
		for i := range points {
			fmt.Fprintf(&b, " + %s%d", letter, i)
		}
	}
	b.WriteString("Minimize\n cost:")
	if totalLift == nil {
		sum("u")
		b.WriteString("\nSubject To\n")
	} else {
		sum("d")
		b.WriteString("\nSubject To\n")
		sum("u")
		fmt.Fprintf(&b, " <= %v\n", *totalLift)
	}
	for i, p := range points {
		fmt.Fprintf(&b, " t%d - u%d <= %v\n t%d + d%d >= %v\n", i, i, p.HeightMM, i, i, p.HeightMM)
		for j := range i {
			if mm, holds := allowance(p, points[j], g); holds {
				fmt.Fprintf(&b, " t%d - t%d <= %v\n t%d - t%d <= %v\n", i, j, mm, j, i, mm)
			}
		}
	}
	b.WriteString("Bounds\n")
	for i, p := range points {
		low, high := p.HeightMM-p.MaxLower, "+inf"
		switch {
		case p.Fixed:
			low, high = p.HeightMM, fmt.Sprint(p.HeightMM)
		case p.MaxLift != nil:
			high = fmt.Sprint(p.HeightMM + *p.MaxLift)
		}
		fmt.Fprintf(&b, " %v <= t%d <= %s\n", low, i, high)
	}
	b.WriteString("End\n")
	return b.String()
}

// allowance is what two points may differ by, range limits among the rest.
func allowance(p, q aimPoint, g goal) (float64, bool) {
	dx, dy := p.X-q.X, p.Y-q.Y
	distance := math.Sqrt(float64(dx*dx) + float64(dy*dy))
	mm, holds := math.Inf(1), false
	for _, l := range g.Limits {
		if each, ok := l.At(distance); ok {
			mm, holds = math.Min(mm, each), true
		}
	}
	return math.Max(0, mm-g.MarginMM), holds
}
