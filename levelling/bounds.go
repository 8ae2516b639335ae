package levelling

import (
	"math"
	"slices"
)

// bounds answers how far two points may differ. Pairs are not stored: a floor
// of n points under a long limit has n² of them.
type bounds struct {
	points  []AimPoint
	pairs   []Rule
	allRoom float64 // mm between the highest and the lowest, +Inf without a range limit
	margin  float64

	reach float64   // m, beyond which no pair limit holds; negative without one
	along []float64 // m, the position of each point on the longer side of the floor
	order []int32   // the points by along
	place []int32   // where each stands in order
}

func newBounds(points []AimPoint, g Goal) *bounds {
	b := &bounds{points: points, margin: g.MarginMM, allRoom: math.Inf(1), reach: -1}
	for _, r := range g.rules() {
		l := r.Limit
		if l.Kind == RangeLimit {
			b.allRoom = math.Min(b.allRoom, l.MM-g.MarginMM)
			continue
		}
		b.pairs = append(b.pairs, r)
		b.reach = math.Max(b.reach, l.OverM+float64(1e-6*l.OverM)) // whether it holds is the limit's to say
	}
	b.sortAlong()
	return b
}

// sortAlong orders the points so that those within reach of one stand near it.
func (b *bounds) sortAlong() {
	n := len(b.points)
	x, y := make([]float64, n), make([]float64, n)
	b.order, b.place = make([]int32, n), make([]int32, n)
	for i, p := range b.points {
		x[i], y[i], b.order[i] = p.X, p.Y, int32(i)
	}
	b.along = x
	if slices.Max(y)-slices.Min(y) > slices.Max(x)-slices.Min(x) {
		b.along = y
	}
	slices.SortStableFunc(b.order, func(i, j int32) int {
		switch {
		case b.along[i] < b.along[j]:
			return -1
		case b.along[i] > b.along[j]:
			return 1
		}
		return 0
	})
	for at, i := range b.order {
		b.place[i] = int32(at)
	}
}

// near returns the points that may be within reach of a point, itself among
// them; of two points at least one has the other.
func (b *bounds) near(i int32) []int32 {
	from, to := int(b.place[i]), int(b.place[i])
	for from > 0 && b.along[i]-b.along[b.order[from-1]] <= b.reach {
		from--
	}
	for to+1 < len(b.order) && b.along[b.order[to+1]]-b.along[i] <= b.reach {
		to++
	}
	return b.order[from : to+1]
}

// pair returns the smallest pair limit between two points, less the margin, and
// whether any holds. A proportional limit may leave two points that stand very
// close less than the margin: they then have to be level with each other.
func (b *bounds) pair(i, j int32) (float64, bool) {
	p, q := &b.points[i], &b.points[j]
	distance := Distance(p.X, p.Y, q.X, q.Y)
	least := math.Inf(1)
	for k := range b.pairs {
		if mm, holds := b.pairs[k].at(distance); holds && mm < least {
			least = mm
		}
	}
	return math.Max(0, least-b.margin), !math.IsInf(least, 1)
}

// link tells by which limit one point forces the other.
func (b *bounds) link(i, j int) Link {
	p, q := &b.points[i], &b.points[j]
	link := Link{From: p.ID, To: q.ID, Kind: PairLimit, DistanceM: Distance(p.X, p.Y, q.X, q.Y)}
	mm, holds := b.pair(int32(i), int32(j))
	if !holds || b.allRoom < mm {
		mm, link.Kind = b.allRoom, RangeLimit
	}
	link.LimitMM = mm
	return link
}

// breach is two heights that differ by more than a limit.
type breach struct {
	high, low int
	past      float64 // mm beyond the limit, -Inf where nothing is limited
}

// worst returns the two heights that break a limit by most, of those that tie
// the first.
func (b *bounds) worst(heights []float64) breach {
	w := breach{past: math.Inf(-1)}
	try := func(i, j int, room float64) {
		high, low := i, j
		if heights[j] > heights[i] {
			high, low = j, i
		}
		if past := heights[high] - heights[low] - room; past > w.past {
			w = breach{high, low, past}
		}
	}
	for i := range heights {
		for _, j := range b.near(int32(i)) {
			if int(j) <= i {
				continue
			}
			if room, holds := b.pair(int32(i), j); holds {
				try(i, int(j), room)
			}
		}
	}
	high, low := slices.Max(heights), slices.Min(heights)
	if !math.IsInf(b.allRoom, 1) {
		try(slices.Index(heights, high), slices.Index(heights, low), b.allRoom)
	}
	return w
}
