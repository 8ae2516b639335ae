package drawing

import "math"

// reading is one height at a place of the plan, in metres.
type reading struct {
	x, y, v float64
}

// field is a smooth surface through readings: a constant and, for each reading,
// a weight times a kernel of the distance, r^1.5. It passes through every
// reading, works for readings in one line, and is kept between the least and
// the greatest of them.
type field struct {
	at        []reading
	weight    []float64 // one a reading, then the constant
	low, high float64
}

// samePlace is the distance in metres below which two readings are one place,
// as the two ends at a butted join may be: no surface passes through both.
const samePlace = 0.02

func newField(all []reading) (field, bool) {
	f := field{at: merged(all), low: math.Inf(1), high: math.Inf(-1)}
	for _, r := range f.at {
		f.low, f.high = min(f.low, r.v), max(f.high, r.v)
	}
	n := len(f.at)
	rows := make([][]float64, n+1)
	for i := range rows {
		rows[i] = make([]float64, n+2)
	}
	for i, a := range f.at {
		for j, b := range f.at {
			rows[i][j] = kernel(a.x-b.x, a.y-b.y)
		}
		rows[i][n], rows[n][i], rows[i][n+1] = 1, 1, a.v
	}
	f.weight = solve(rows)
	return f, f.weight != nil
}

// merged makes readings at one place one, by their mean.
func merged(all []reading) []reading {
	var out []reading
	var n []float64
next:
	for _, r := range all {
		for i, o := range out {
			if math.Hypot(r.x-o.x, r.y-o.y) < samePlace {
				n[i]++
				out[i].v += (r.v - o.v) / n[i]
				continue next
			}
		}
		out, n = append(out, r), append(n, 1)
	}
	return out
}

func kernel(dx, dy float64) float64 {
	r := math.Sqrt(dx*dx + dy*dy)
	return r * math.Sqrt(r)
}

// value is the surface at a place.
func (f field) value(x, y float64) float64 {
	n := len(f.at)
	v := f.weight[n]
	for i, r := range f.at {
		v += f.weight[i] * kernel(x-r.x, y-r.y)
	}
	return min(max(v, f.low), f.high)
}

// solve solves linear equations, each a row with its right side last, by
// elimination with the largest pivot. It is nil where there is no one answer.
func solve(rows [][]float64) []float64 {
	n := len(rows)
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if math.Abs(rows[i][k]) > math.Abs(rows[p][k]) {
				p = i
			}
		}
		rows[k], rows[p] = rows[p], rows[k]
		if !(math.Abs(rows[k][k]) > 1e-12) {
			return nil
		}
		for i := k + 1; i < n; i++ {
			if by := rows[i][k] / rows[k][k]; by != 0 {
				for j := k; j <= n; j++ {
					rows[i][j] -= by * rows[k][j]
				}
			}
		}
	}
	x := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		v := rows[i][n]
		for j := i + 1; j < n; j++ {
			v -= rows[i][j] * x[j]
		}
		x[i] = v / rows[i][i]
	}
	return x
}
