//go:build bench

package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/levelling"
)

// TestCompareLeast prints what the least lift of a floor of 400 points costs,
// beside glpsol as a process that is handed the same limits. It fails only when
// the two do not agree.
func TestCompareLeast(t *testing.T) {
	const over = 3 // m
	points := scattered(400)
	goal := levelling.Goal{Aim: levelling.AimLeast, MarginMM: 1, Limits: []levelling.Limit{
		{Kind: levelling.PairLimit, OverM: over, MM: 4 * over, Rule: levelling.Proportional},
	}}
	file, pairs := writeProgram(t, points, over, 4*over, 1)
	present := 0.0
	for _, p := range points {
		present += p.HeightMM
	}
	var ratios []float64
	var ours, theirs []time.Duration
	for range rounds {
		const times = 50
		var lift, optimum float64
		a := timed(t, func() error {
			for range times {
				targets, err := goal.Targets(points)
				if err != nil {
					return err
				}
				lift = targets.TotalLift
			}
			return nil
		}) / times
		b := timed(t, func() (err error) { optimum, err = glpsol(t, file); return err })
		if optimum -= present; math.Abs(lift-optimum) > 0.01 {
			t.Fatalf("least lift %v, glpsol says %v", lift, optimum)
		}
		ours, theirs = append(ours, a), append(theirs, b)
		ratios = append(ratios, float64(b)/float64(a))
	}
	fmt.Printf("least-lift          %5.0f   %d points, %d pairs within %d m: %v; glpsol, process and all, %v\n",
		median(ratios), len(points), pairs, over, quantile(ours, 0.5).Round(time.Microsecond), quantile(theirs, 0.5).Round(time.Millisecond))
}

// scattered returns a floor of 30 by 25 m that sags at random.
func scattered(n int) []levelling.AimPoint {
	r := rand.New(rand.NewPCG(400, 3))
	points := make([]levelling.AimPoint, n)
	for i := range points {
		points[i] = levelling.AimPoint{ID: fmt.Sprintf("P%03d", i), X: 30 * r.Float64(), Y: 25 * r.Float64(), HeightMM: -40 * r.Float64()}
	}
	return points
}

// writeProgram writes the least lift under one proportional limit as a linear
// program in the CPLEX format, and counts the pairs. With nothing coming down it
// is enough to minimise the sum of the targets.
func writeProgram(t *testing.T, points []levelling.AimPoint, over, limit, margin float64) (file string, pairs int) {
	t.Helper()
	var b strings.Builder
	b.WriteString("Minimize\n cost:")
	for i := range points {
		fmt.Fprintf(&b, " + t%d", i)
	}
	b.WriteString("\nSubject To\n")
	for i, p := range points {
		for j, q := range points[:i] {
			if d := math.Hypot(p.X-q.X, p.Y-q.Y); d <= over {
				mm := math.Max(0, limit*d/over-margin)
				fmt.Fprintf(&b, " t%d - t%d <= %v\n t%d - t%d <= %v\n", i, j, mm, j, i, mm)
				pairs++
			}
		}
	}
	b.WriteString("Bounds\n")
	for i, p := range points {
		fmt.Fprintf(&b, " %v <= t%d <= +inf\n", p.HeightMM, i)
	}
	b.WriteString("End\n")
	file = filepath.Join(t.TempDir(), "floor.lp")
	if err := os.WriteFile(file, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return file, pairs
}
