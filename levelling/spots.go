package levelling

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// maxSize bounds the numbers of a floor, in m or mm: squares of it can still be
// added.
const maxSize = 1e150

// spots are the points of a floor in the order of their IDs.
type spots struct {
	points     []LevelPoint
	given      []int    // where each stood when given
	neighbours [][2]int // nil where none were given
}

// newSpots takes the points of a floor.
func newSpots(points []LevelPoint, neighbours [][2]string) (*spots, error) {
	if err := checkPoints(points); err != nil {
		return nil, err
	}
	s := &spots{points: make([]LevelPoint, len(points)), given: make([]int, len(points))}
	for i := range s.given {
		s.given[i] = i
	}
	slices.SortFunc(s.given, func(a, b int) int { return cmp.Compare(points[a].ID, points[b].ID) })
	at := make(map[string]int, len(points))
	for i, from := range s.given {
		s.points[i] = points[from]
		at[points[from].ID] = i
	}
	for i, pair := range neighbours {
		a, knowsA := at[pair[0]]
		b, knowsB := at[pair[1]]
		if !knowsA || !knowsB || a == b {
			return nil, Bad(fmt.Sprintf("neighbours[%d]", i), "the ids of two of the points")
		}
		s.neighbours = append(s.neighbours, [2]int{a, b})
	}
	return s, nil
}

// adjacent returns the neighbours given, or else each point's nearest; where
// several are nearest but for rounding, all of them.
func (s *spots) adjacent() [][2]int {
	if s.neighbours != nil {
		return s.neighbours
	}
	var pairs [][2]int
	away := make([]float64, len(s.points))
	for a, p := range s.points {
		least := math.Inf(1)
		for b, q := range s.points {
			if away[b] = Distance(p.X, p.Y, q.X, q.Y); a != b {
				least = math.Min(least, away[b])
			}
		}
		for b := range s.points {
			if a != b && atMost(away[b], least) {
				pairs = append(pairs, [2]int{a, b})
			}
		}
	}
	return pairs
}

func (s *spots) inOrder(a, b int) [2]string {
	if s.given[a] > s.given[b] {
		a, b = b, a
	}
	return [2]string{s.points[a].ID, s.points[b].ID}
}

// checkPoints refuses points that cannot be judged.
func checkPoints(points []LevelPoint) error {
	if len(points) < 2 {
		return Bad("points", "the points of one floor, at least two")
	}
	return checkEach(points)
}

func (p LevelPoint) name() string { return p.ID }

func (p LevelPoint) check(i int) error {
	field := func(name string) string { return indexed("points", i, name) }
	switch {
	case p.ID == "":
		return Bad(field("id"), "the name of the point")
	case !isSize(p.X):
		return Bad(field("x_m"), "its position on the plan in m, at most 1e150")
	case !isSize(p.Y):
		return Bad(field("y_m"), "its position on the plan in m, at most 1e150")
	case !isSize(p.Height.MM):
		return Bad(field("height_mm"), "its height in mm, positive upwards, at most 1e150")
	case !isSize(p.Height.SD) || p.Height.SD < 0:
		return Bad(field("sd_mm"), "the standard deviation of its height in mm, from 0 to 1e150")
	}
	return nil
}

func isSize(x float64) bool { return math.Abs(x) <= maxSize }
