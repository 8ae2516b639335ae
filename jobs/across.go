package jobs

import (
	"cmp"
	"slices"

	"relevel/events"
	"relevel/levelling"
)

// acrossM is how far apart two supports of different bearers may stand and
// still be bound to each other's movement, m: joists of old floors span no
// further (common practice, no source).
const acrossM = 5.0

// pairsAcross lists the supports that stand beside each other across the
// bearers: two of different bearers with none of any bearer between them, which
// is to say, inside the circle whose diameter joins the two (the Gabriel graph).
// Positions alone decide, so that no plan needs to say it.
func pairsAcross(supports []events.Support, bearerOf map[string]string) [][2]string {
	at := slices.SortedStableFunc(slices.Values(supports), func(a, b events.Support) int { return cmp.Compare(a.X, b.X) })
	var pairs [][2]string
	for i, a := range at {
		near := nearTo(at, i)
		if len(near) > crowd {
			continue
		}
		for _, b := range near {
			met := b.X < a.X || (b.X == a.X && b.ID <= a.ID) // from the other side
			if !met && bearerOf[a.ID] != bearerOf[b.ID] && !parted(a, b, near) {
				pairs = append(pairs, [2]string{a.ID, b.ID})
			}
		}
	}
	return pairs
}

// crowd is more supports than stand within acrossM of one under any house: a
// drawing that says so is no reason to reckon for minutes.
const crowd = 200

// nearTo lists those within acrossM of one of them, given in the order of x.
func nearTo(at []events.Support, i int) []events.Support {
	a := at[i]
	low, high := i, i+1
	for low > 0 && a.X-at[low-1].X <= acrossM {
		low--
	}
	for high < len(at) && at[high].X-a.X <= acrossM {
		high++
	}
	var near []events.Support
	for _, b := range at[low:high] {
		if len(near) > crowd {
			break
		}
		if levelling.Distance(a.X, a.Y, b.X, b.Y) <= acrossM {
			near = append(near, b)
		}
	}
	return near
}

// parted tells whether a third support stands between two.
func parted(a, b events.Support, others []events.Support) bool {
	return slices.ContainsFunc(others, func(c events.Support) bool {
		if c.ID == a.ID || c.ID == b.ID {
			return false
		}
		// Inside the circle the third one sees the two under an obtuse angle.
		return float64((a.X-c.X)*(b.X-c.X))+float64((a.Y-c.Y)*(b.Y-c.Y)) < 0
	})
}
