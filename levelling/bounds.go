package levelling

import (
	"math"
	"slices"
)

// bounds answers how far two points may differ. Pairs are not stored: a floor
// of n points under a long limit has n² of them.
type bounds struct {
	points  []AimPoint
	x, y    []float64 // their positions once more, close together for the search
	pairs   []Rule
	allRoom float64 // mm between the highest and the lowest, +Inf without a range limit
	margin  float64

	far    float64 // m², beyond which no pair limit holds
	strips *strips
}

func newBounds(points []AimPoint, g Goal) *bounds {
	b := &bounds{points: points, margin: g.MarginMM, allRoom: math.Inf(1)}
	reach := -1.0
	for _, r := range g.rules() {
		l := r.Limit
		switch {
		case l.Kind == RangeLimit && (r.Whole || !severalRooms(points)):
			b.allRoom = math.Min(b.allRoom, l.MM-g.MarginMM)
			continue
		case l.Kind == RangeLimit: // of each room: no two points of it differ by more
			l = flatLimit(l.MM, anyLength)
			r.Limit = l
		}
		b.pairs = append(b.pairs, r)
		reach = math.Max(reach, l.OverM+float64(1e-6*l.OverM)) // whether it holds is the limit's to say
	}
	for _, p := range points {
		b.x, b.y = append(b.x, p.X), append(b.y, p.Y)
	}
	b.far, b.strips = reach*reach, newStrips(b.x, b.y, reach)
	return b
}

func severalRooms(points []AimPoint) bool {
	return slices.ContainsFunc(points, func(p AimPoint) bool { return p.Room != points[0].Room })
}

// pair returns the smallest pair limit between two points, less the margin, and
// whether any holds. A proportional limit may leave two points that stand very
// close less than the margin: they then have to be level with each other.
func (b *bounds) pair(i, j int32) (float64, bool) {
	dx, dy := b.x[j]-b.x[i], b.y[j]-b.y[i]
	if float64(dx*dx)+float64(dy*dy) > b.far {
		return 0, false
	}
	distance := Distance(b.x[i], b.y[i], b.x[j], b.y[j])
	least, held := 0.0, false
	for k := range b.pairs {
		if !b.pairs[k].Whole && b.points[i].Room != b.points[j].Room {
			continue
		}
		if mm, holds := b.pairs[k].at(distance); holds && (!held || mm < least) {
			least, held = mm, true
		}
	}
	return max(0, least-b.margin), held
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
		for _, window := range b.strips.near(int32(i)) {
			for _, j := range window {
				if int(j) <= i {
					continue
				}
				if room, holds := b.pair(int32(i), j); holds {
					try(i, int(j), room)
				}
			}
		}
	}
	high, low := slices.Max(heights), slices.Min(heights)
	if !math.IsInf(b.allRoom, 1) {
		try(slices.Index(heights, high), slices.Index(heights, low), b.allRoom)
	}
	return w
}
