package levelling

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// strips finds the points near one another: the floor is cut along its longer
// side into strips at least as wide as a limit reaches, and each strip is sorted
// along. What is in reach lies in a point's own strip and the two beside it.
type strips struct {
	reach float64   // m; negative for a floor without pairs
	along []float64 // m, the position of each point on the longer side
	strip []int32   // the strip of each point
	order []int32   // the points by strip, then along
	first []int     // where each strip begins in order, and after the last its end
}

func newStrips(x, y []float64, reach float64) *strips {
	long, width := y, slices.Max(x)-slices.Min(x)
	across := x
	if high := slices.Max(y) - slices.Min(y); high < width {
		long, across, width = x, y, high
	}
	s := &strips{reach: reach, along: long, strip: make([]int32, len(x)), order: make([]int32, len(x))}
	count := stripCount(width, reach, len(x))
	low := slices.Min(across)
	for i := range s.order {
		s.order[i] = int32(i)
		if count > 1 {
			s.strip[i] = int32(min(float64(count-1), (across[i]-low)/(width/float64(count))))
		}
	}
	slices.SortFunc(s.order, func(i, j int32) int {
		return cmp.Or(cmp.Compare(s.strip[i], s.strip[j]), cmp.Compare(s.along[i], s.along[j]))
	})
	s.first = make([]int, count+1)
	for k := range s.first {
		s.first[k] = sort.Search(len(s.order), func(at int) bool { return int(s.strip[s.order[at]]) >= k })
	}
	return s
}

// stripCount cuts a width into as many strips as the reach allows, at most one a
// point. A width beyond what a number holds is not cut.
func stripCount(width, reach float64, points int) int {
	if !(reach > 0) || math.IsInf(width, 1) {
		return 1
	}
	return max(1, int(min(float64(points), width/reach)))
}

// near returns the points that may be within reach of one, itself among them. It
// misses none that is clearly within, but for rounding.
func (s *strips) near(i int32) (windows [3][]int32) {
	if s.reach < 0 {
		return windows
	}
	for k := range windows {
		if at := int(s.strip[i]) + k - 1; at >= 0 && at+1 < len(s.first) {
			windows[k] = s.window(s.order[s.first[at]:s.first[at+1]], s.along[i])
		}
	}
	return windows
}

// window cuts a strip to what lies within reach along it.
func (s *strips) window(strip []int32, at float64) []int32 {
	from := sort.Search(len(strip), func(k int) bool { return s.along[strip[k]] >= at-s.reach })
	to := from
	for to < len(strip) && s.along[strip[to]] <= at+s.reach {
		to++
	}
	return strip[from:to]
}
