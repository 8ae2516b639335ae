package beam

import "math"

// below and above say how far from the diagonal coefficients stand; an exchange
// of rows carries them further above.
const (
	below = 3
	above = 3
	reach = above + below
)

// band is a system of linear equations whose coefficients stand near the
// diagonal, solved by elimination with exchange of rows in time that grows with
// the number of unknowns alone. A column holds its rows from reach above the
// diagonal to below it.
type band struct {
	cols [][reach + 1 + below]float64
	swap []int // by column: the row that took the place of its own
}

func newBand(n int) *band {
	return &band{cols: make([][reach + 1 + below]float64, n), swap: make([]int, n)}
}

func (m *band) clear() { clear(m.cols) }

func (m *band) set(row, col int, x float64) { m.cols[col][row-col+reach] = x }

// factor takes the system apart in place. It reports whether it can be solved.
func (m *band) factor() bool {
	for k := range m.cols {
		p := m.pivot(k)
		m.swap[k] = p
		if p != k {
			m.exchange(k, p)
		}
		if m.cols[k][reach] == 0 {
			return false
		}
		m.eliminate(k)
	}
	return true
}

// pivot is the row with the largest coefficient left in a column.
func (m *band) pivot(k int) int {
	col, best := &m.cols[k], k
	for row := k + 1; row <= min(k+below, len(m.cols)-1); row++ {
		if math.Abs(col[row-k+reach]) > math.Abs(col[best-k+reach]) {
			best = row
		}
	}
	return best
}

func (m *band) exchange(k, p int) {
	for c := k; c <= min(k+reach, len(m.cols)-1); c++ {
		col := &m.cols[c]
		col[k-c+reach], col[p-c+reach] = col[p-c+reach], col[k-c+reach]
	}
}

// eliminate takes row k out of the rows under it and keeps, in its place, how
// often it was taken.
func (m *band) eliminate(k int) {
	last := min(k+below, len(m.cols)-1)
	col := &m.cols[k]
	for row := k + 1; row <= last; row++ {
		col[row-k+reach] /= col[reach]
	}
	for c := k + 1; c <= min(k+reach, len(m.cols)-1); c++ {
		right := &m.cols[c]
		if x := right[k-c+reach]; x != 0 {
			for row := k + 1; row <= last; row++ {
				right[row-c+reach] -= float64(col[row-k+reach] * x)
			}
		}
	}
}

// solve replaces the right side by the unknowns.
func (m *band) solve(x []float64) {
	last := len(m.cols) - 1
	for k := range m.cols {
		x[k], x[m.swap[k]] = x[m.swap[k]], x[k]
		for row := k + 1; row <= min(k+below, last); row++ {
			x[row] -= float64(m.cols[k][row-k+reach] * x[k])
		}
	}
	for k := last; k >= 0; k-- {
		x[k] /= m.cols[k][reach]
		for row := max(0, k-reach); row < k; row++ {
			x[row] -= float64(m.cols[k][row-k+reach] * x[k])
		}
	}
}
