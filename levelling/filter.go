package levelling

import "math"

// Filter estimates heights one observation at a time, with the covariances
// between them: a Kalman filter. Its unknowns are whatever has a height: a face
// of a place, a datum, the plane of a set-up. An offset between two faces needs
// no unknown of its own: moves that carry both leave their difference as well
// known as it was.
//
// An unknown enters by its first observation, without a huge prior, and is
// dropped when nothing will observe it again. For the same observations and
// moves the heights equal those of a least-squares adjustment of all of them
// at once, and no observation ever raises a standard deviation.
//
// Each operation takes time by the square of the number of unknowns at most,
// and memory by that square. The zero value is empty and ready. It is not safe
// for concurrent use.
type Filter struct {
	x     []float64 // heights, mm, by row
	p     []float64 // their covariances, mm², the lower triangle row by row
	rows  []int     // by Unknown: its row, or -1 when it was dropped
	owner []Unknown // by row
	free  []Unknown // dropped, to be given out again
	col   []float64 // room for one column
}

// Unknown names one height of a filter, from the call that entered it to the
// one that drops it. Using it after that, or with another filter, is a mistake
// of the caller and panics.
type Unknown int

// Len is the number of unknowns.
func (f *Filter) Len() int { return len(f.x) }

// Hold enters a height known from elsewhere: a datum's, given on a plan, held
// exactly when its standard deviation is 0 and weighted by it otherwise.
func (f *Filter) Hold(h Height) Unknown {
	u := f.grow()
	row := f.rows[u]
	f.x[row] = h.MM
	f.p[diagonal(row)] = float64(h.SD * h.SD)
	return u
}

// Enter adds an unknown by its first observation: it lies by mm above another,
// up positive, known to sd.
func (f *Filter) Enter(from Unknown, by, sd float64) Unknown {
	u := f.grow()
	row, src := f.rows[u], f.rows[from]
	f.x[row] = f.x[src] + by
	last := f.p[start(row):]
	for j := range row {
		last[j] = f.cov(src, j)
	}
	last[row] = f.cov(src, src) + float64(sd*sd)
	return u
}

// grow adds a row without a height or covariances.
func (f *Filter) grow() Unknown {
	row := len(f.x)
	f.x = append(f.x, 0)
	for range row + 1 {
		f.p = append(f.p, 0)
	}
	u := Unknown(len(f.rows))
	if n := len(f.free); n > 0 {
		u, f.free = f.free[n-1], f.free[:n-1]
		f.rows[u] = row
	} else {
		f.rows = append(f.rows, row)
	}
	f.owner = append(f.owner, u)
	return u
}

// Height is what is known of an unknown now.
func (f *Filter) Height(u Unknown) Height {
	row := f.rows[u]
	return Height{f.x[row], math.Sqrt(f.p[diagonal(row)])}
}

// Between is how far one unknown lies above another. Their covariance counts:
// what they share, as two faces read from one set-up do, drops out.
func (f *Filter) Between(upper, lower Unknown) Height {
	a, b := f.rows[upper], f.rows[lower]
	return Height{f.x[a] - f.x[b], math.Sqrt(f.variance(a, b))}
}

// variance is that of the difference of two rows; rounding may not make it negative.
func (f *Filter) variance(a, b int) float64 {
	return math.Max(0, f.cov(a, a)+f.cov(b, b)-float64(2*f.cov(a, b)))
}

// Test compares an observation with what is known: upper was observed to lie mm
// above lower, to sd. It returns how far the observation exceeds what was
// expected, and whether by more than chance brings about once in a thousand
// times ([CriticalValue]): the normalised innovation. The filter stays as it is.
func (f *Filter) Test(upper, lower Unknown, mm, sd float64) (byMM float64, odd bool) {
	return Disagrees(Height{mm, sd}, f.Between(upper, lower))
}

// Observe takes an observation: upper lies mm above lower, to sd, above 0. The
// caller tests it first.
func (f *Filter) Observe(upper, lower Unknown, mm, sd float64) {
	a, b := f.rows[upper], f.rows[lower]
	s := f.variance(a, b) + float64(sd*sd)
	if a == b || s == 0 {
		return // it tells nothing
	}
	c := f.column(a, b)
	innovation := (mm - (f.x[a] - f.x[b])) / s
	axpy(f.x, innovation, c)
	for i, ci := range c {
		if ci == 0 {
			continue // as for all that is held
		}
		row := f.p[start(i) : start(i)+i+1]
		axpy(row, -ci/s, c[:i+1])
		row[i] = math.Max(0, row[i])
	}
}

// column is the covariance of every row with row a less row b.
func (f *Filter) column(a, b int) []float64 {
	if cap(f.col) < len(f.x) {
		f.col = make([]float64, len(f.x), 2*len(f.x))
	}
	c := f.col[:len(f.x)]
	for i := range c {
		c[i] = f.cov(i, a) - f.cov(i, b)
	}
	return c
}

// axpy adds k·x to y. It is the filter's one inner loop.
func axpy(y []float64, k float64, x []float64) {
	y = y[:len(x)]
	for i, xi := range x {
		y[i] += float64(k * xi)
	}
}

// Move adds one and the same rise, known to sd, to several unknowns that move
// as one: the faces of a place when it is jacked. A move of 0 with its sd says
// that they may have moved. Nobody is named twice.
func (f *Filter) Move(together []Unknown, by, sd float64) {
	variance := float64(sd * sd)
	for k, u := range together {
		row := f.rows[u]
		f.x[row] += by
		for _, other := range together[:k+1] {
			f.p[f.at(row, f.rows[other])] += variance
		}
	}
}

// Drop forgets an unknown. What the others learned through it stays with them.
func (f *Filter) Drop(u Unknown) {
	row, last := f.rows[u], len(f.x)-1
	if row != last {
		f.x[row] = f.x[last]
		own := f.p[diagonal(last)]
		for j := range last {
			if j != row {
				f.p[f.at(row, j)] = f.p[start(last)+j]
			}
		}
		f.p[diagonal(row)] = own
		f.owner[row] = f.owner[last]
		f.rows[f.owner[row]] = row
	}
	f.x, f.p, f.owner = f.x[:last], f.p[:start(last)], f.owner[:last]
	f.rows[u] = -1
	f.free = append(f.free, u)
}

// Clone returns a filter that shares nothing with f and knows the same unknowns.
func (f *Filter) Clone() Filter {
	clone := func(xs []float64) []float64 { return append([]float64(nil), xs...) }
	return Filter{
		x: clone(f.x), p: clone(f.p), rows: append([]int(nil), f.rows...),
		owner: append([]Unknown(nil), f.owner...), free: append([]Unknown(nil), f.free...),
	}
}

// start is where a row of the lower triangle begins.
func start(row int) int { return row * (row + 1) / 2 }

// diagonal is where a row of the lower triangle ends.
func diagonal(row int) int { return start(row) + row }

func (f *Filter) at(a, b int) int {
	if a < b {
		a, b = b, a
	}
	return start(a) + b
}

func (f *Filter) cov(a, b int) float64 { return f.p[f.at(a, b)] }
