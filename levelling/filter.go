package levelling

import (
	"maps"
	"math"
	"slices"
)

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
	// Limit bounds how many unknowns are kept with their covariances, at least
	// 8. Beyond it the one not touched for longest rests: its height and
	// standard deviation stay, and it counts as independent of all others once
	// it is touched again. 0 is no limit.
	Limit int

	x     []float64 // heights, mm, by row
	p     []float64 // their covariances, mm², the lower triangle row by row
	rows  []int     // by Unknown: its row, or out
	owner []Unknown // by row
	free  []Unknown // dropped, to be given out again
	col   []float64 // room for one column

	rest    map[Unknown]Height // those that rest
	touched []int64            // by row: when it was last touched
	clock   int64
}

// out is the row of an unknown that has none: it rests, or was dropped.
const out = -1

// Unknown names one height of a filter, from the call that entered it to the
// one that drops it. Using it after that, or with another filter, is a mistake
// of the caller and panics.
type Unknown int

// Len is the number of unknowns.
func (f *Filter) Len() int { return len(f.x) + len(f.rest) }

// Hold enters a height known from elsewhere: a datum's, given on a plan, held
// exactly when its standard deviation is 0 and weighted by it otherwise.
func (f *Filter) Hold(h Height) Unknown {
	u := f.name()
	f.set(u, h)
	return u
}

// set gives an unknown a row of its own, independent of all others.
func (f *Filter) set(u Unknown, h Height) {
	row := f.grow(u)
	f.x[row] = h.MM
	f.p[diagonal(row)] = float64(h.SD * h.SD)
}

// Enter adds an unknown by its first observation: it lies by mm above another,
// up positive, known to sd.
func (f *Filter) Enter(from Unknown, by, sd float64) Unknown {
	f.touch(from)
	u := f.name()
	row := f.grow(u)
	src := f.rows[from]
	f.x[row] = f.x[src] + by
	last := f.p[start(row):]
	for j := range row {
		last[j] = f.cov(src, j)
	}
	last[row] = f.cov(src, src) + float64(sd*sd)
	return u
}

// name gives out an unknown without a row.
func (f *Filter) name() Unknown {
	if n := len(f.free); n > 0 {
		u := f.free[n-1]
		f.free = f.free[:n-1]
		return u
	}
	f.rows = append(f.rows, out)
	return Unknown(len(f.rows) - 1)
}

// grow adds a row without a height or covariances.
func (f *Filter) grow(u Unknown) int {
	if f.Limit > 0 && len(f.x) >= f.Limit {
		f.restOldest()
	}
	row := len(f.x)
	f.x = append(f.x, 0)
	for range row + 1 {
		f.p = append(f.p, 0)
	}
	f.clock++
	f.rows[u], f.owner, f.touched = row, append(f.owner, u), append(f.touched, f.clock)
	return row
}

// touch makes sure that unknowns have rows, for an operation on all of them.
func (f *Filter) touch(us ...Unknown) {
	f.clock++
	for _, u := range us {
		if h, resting := f.rest[u]; resting {
			delete(f.rest, u)
			f.set(u, h)
		}
		f.touched[f.rows[u]] = f.clock
	}
}

// restOldest takes the row of the unknown that was not touched for longest.
func (f *Filter) restOldest() {
	oldest := 0
	for row, when := range f.touched {
		if when < f.touched[oldest] {
			oldest = row
		}
	}
	u := f.owner[oldest]
	h := f.Height(u)
	f.cut(oldest)
	if f.rest == nil {
		f.rest = map[Unknown]Height{}
	}
	f.rest[u] = h
}

// Height is what is known of an unknown now.
func (f *Filter) Height(u Unknown) Height {
	if h, resting := f.rest[u]; resting {
		return h
	}
	row := f.rows[u]
	return Height{f.x[row], math.Sqrt(f.p[diagonal(row)])}
}

// Between is how far one unknown lies above another. Their covariance counts:
// what they share, as two faces read from one set-up do, drops out. Like Height
// it only looks: what is asked of a filter must not change what it keeps.
func (f *Filter) Between(upper, lower Unknown) Height {
	a, b := f.rows[upper], f.rows[lower]
	if a == out || b == out {
		if upper == lower {
			return Height{}
		}
		return f.Height(upper).minus(f.Height(lower))
	}
	return Height{f.x[a] - f.x[b], math.Sqrt(f.variance(a, b))}
}

// Shared is the variance that some unknowns have in common, as that of the datum
// and the plane they all hang on, mm²: the least covariance of any two. It drops
// out of whatever is measured between them.
func (f *Filter) Shared(us []Unknown) float64 {
	least := math.Inf(1)
	for i, u := range us {
		for _, v := range us[:i] {
			a, b := f.rows[u], f.rows[v]
			if a == out || b == out {
				return 0 // what rests counts as independent
			}
			least = math.Min(least, f.cov(a, b))
		}
	}
	if math.IsInf(least, 1) {
		return 0 // nobody to share with
	}
	return math.Max(0, least)
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
	f.touch(upper, lower)
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
	f.touch(together...)
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
	if _, resting := f.rest[u]; resting {
		delete(f.rest, u)
	} else {
		f.cut(f.rows[u])
	}
	f.free = append(f.free, u)
}

// cut takes a row out; the last one takes its place.
func (f *Filter) cut(row int) {
	last := len(f.x) - 1
	f.rows[f.owner[row]] = out
	if row != last {
		f.x[row] = f.x[last]
		own := f.p[diagonal(last)]
		for j := range last {
			if j != row {
				f.p[f.at(row, j)] = f.p[start(last)+j]
			}
		}
		f.p[diagonal(row)] = own
		f.owner[row], f.touched[row] = f.owner[last], f.touched[last]
		f.rows[f.owner[row]] = row
	}
	f.x, f.p, f.owner, f.touched = f.x[:last], f.p[:start(last)], f.owner[:last], f.touched[:last]
}

// Clone returns a filter that shares nothing with f and knows the same unknowns.
func (f *Filter) Clone() Filter {
	return Filter{
		Limit: f.Limit, x: slices.Clone(f.x), p: slices.Clone(f.p),
		rows: slices.Clone(f.rows), owner: slices.Clone(f.owner), free: slices.Clone(f.free),
		rest: maps.Clone(f.rest), touched: slices.Clone(f.touched), clock: f.clock,
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
