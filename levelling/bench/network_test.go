//go:build bench

package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"relevel/levelling"
)

// TestCompareNetwork prints what the heights of 2 000 points cost, and the full
// answer with standard deviations, redundancies and w, beside Octave's sparse
// A\b on the same weighted matrix, and beside its solution of the normal
// equations, which is faster and less exact. Octave's own clock is taken, and
// its matrix is ready; ours starts from names. It fails only when the two do not
// agree.
func TestCompareNetwork(t *testing.T) {
	n := gridOfSetups(50, 40)
	a := newOctave(t, n)
	var ours, full, qr, normal []time.Duration
	var heights map[string]float64
	for range rounds {
		ours = append(ours, timed(t, func() (err error) { heights, err = n.Heights(); return err }))
		qr = append(qr, a.timed(t, `x = A \ b`))
		a.compare(t, heights, 1e-6)
		full = append(full, timed(t, func() error { _, err := n.Adjust(); return err }))
		normal = append(normal, a.timed(t, `x = (A' * A) \ (A' * b)`))
		a.compare(t, heights, 1e-4)
	}
	fmt.Printf("network             %5.1f   heights alone of %d points, %d set-ups, %d readings: %v; octave A\\b %v\n", ratio(qr, ours),
		len(heights), a.unknowns-(len(heights)-1), len(n.Readings), middle(ours), middle(qr))
	fmt.Printf("network-normal      %5.1f   the same beside octave (A'A)\\(A'b) %v\n", ratio(normal, ours), middle(normal))
	fmt.Printf("network-full        %5.1f   with standard deviations, redundancies and w: %v; octave A\\b, which has none, %v\n",
		ratio(qr, full), middle(full), middle(qr))
}

// gridOfSetups returns a floor of wide by deep points, 1.8 m apart, and a set-up
// by every fourth of them either way that reads all within three. One is fixed.
func gridOfSetups(wide, deep int) levelling.Network {
	r := rand.New(rand.NewPCG(2000, 3))
	heights := map[string]float64{}
	n := levelling.Network{Alpha: 0.001, Fixed: []levelling.FixedPoint{{Point: "P0-0", HeightMM: 0}}}
	for sx := 2; sx < wide+2; sx += 4 {
		for sy := 2; sy < deep+2; sy += 4 {
			plane := 1400 + 100*r.Float64()
			for x := max(0, sx-3); x <= min(wide-1, sx+3); x++ {
				for y := max(0, sy-3); y <= min(deep-1, sy+3); y++ {
					name := fmt.Sprintf("P%d-%d", x, y)
					if _, known := heights[name]; !known && name != "P0-0" {
						heights[name] = -40 * r.Float64()
					}
					n.Readings = append(n.Readings, levelling.StaffReading{
						Setup: fmt.Sprintf("S%d-%d", sx, sy), Point: name,
						StaffMM: math.Round(plane - heights[name] + r.NormFloat64()), SD: 1 + math.Floor(2*r.Float64()),
					})
				}
			}
		}
	}
	return n
}

func middle(all []time.Duration) time.Duration {
	return quantile(all, 0.5).Round(10 * time.Microsecond)
}

// ratio is the median of what the pairs of each round come to.
func ratio(theirs, ours []time.Duration) float64 {
	var ratios []float64
	for i := range ours {
		ratios = append(ratios, float64(theirs[i])/float64(ours[i]))
	}
	return median(ratios)
}
