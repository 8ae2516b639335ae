package levelling

import "fmt"

// survey is a network by numbers: marks, which are points and planes, and
// sights between them.
type survey struct {
	network Network
	base    float64 // the height of the first fixed point; all others count from it
	unit    float64 // the smallest standard deviation, of weight 1
	marks   []mark
	sights  []sight
	nodes   int // unknown marks, and the ground
}

// mark is a point or a plane. While the network is solved all fixed points are
// one node, the ground.
type mark struct {
	name   string
	plane  bool
	node   int
	mm     float64 // above the base: given, or by the first path found to it
	placed bool
}

// sight is an observation: to lies rise above from. A staff reading is one from
// the point to the plane.
type sight struct {
	from, to int // marks
	rise, sd float64
}

// newSurvey numbers the marks: fixed points first, then as they come up.
func newSurvey(n Network) *survey {
	s := &survey{network: n, base: n.Fixed[0].HeightMM, nodes: 1}
	s.sights = make([]sight, 0, len(n.Differences)+len(n.Readings))
	points := make(map[string]int, len(n.Fixed)+cap(s.sights)/2)
	planes := map[string]int{}
	for i, f := range n.Fixed {
		points[f.Point] = i
		s.marks = append(s.marks, mark{name: f.Point, node: ground, mm: f.HeightMM - s.base, placed: true})
	}
	for _, d := range n.Differences {
		from := s.number(points, d.From, false)
		s.sights = append(s.sights, sight{from, s.number(points, d.To, false), d.RiseMM, d.SD})
	}
	for _, r := range n.Readings {
		point := s.number(points, r.Point, false)
		s.sights = append(s.sights, sight{point, s.number(planes, r.Setup, true), r.StaffMM, r.SD})
	}
	s.unit = s.sights[0].sd
	for _, v := range s.sights {
		s.unit = min(s.unit, v.sd)
	}
	return s
}

// number returns the mark of a name, a new one for a new name.
func (s *survey) number(known map[string]int, name string, plane bool) int {
	if i, ok := known[name]; ok {
		return i
	}
	known[name] = len(s.marks)
	s.marks = append(s.marks, mark{name: name, plane: plane, node: s.nodes})
	s.nodes++
	return known[name]
}

// approach places every mark by a path of sights from a fixed one. The
// adjustment then only reckons with what is left, which is small however great
// the heights are.
func (s *survey) approach() error {
	at := s.sightsByMark()
	reached := make([]int, 0, len(s.marks))
	for i, m := range s.marks {
		if m.placed {
			reached = append(reached, i)
		}
	}
	for next := 0; next < len(reached); next++ {
		i := reached[next]
		for _, v := range at[i] {
			far, rise := s.sights[v].seenFrom(i)
			if !s.marks[far].placed {
				s.marks[far].mm, s.marks[far].placed = s.marks[i].mm+rise, true
				reached = append(reached, far)
			}
		}
	}
	return s.unreached()
}

func (s *survey) sightsByMark() [][]int {
	count := make([]int, len(s.marks))
	for _, v := range s.sights {
		count[v.from]++
		count[v.to]++
	}
	at := lists[int](count)
	for i, v := range s.sights {
		at[v.from] = append(at[v.from], i)
		at[v.to] = append(at[v.to], i)
	}
	return at
}

// lists makes empty lists with room for so many items each, out of one piece of
// memory.
func lists[T any](count []int) [][]T {
	total := 0
	for _, n := range count {
		total += n
	}
	room := make([]T, total)
	all := make([][]T, len(count))
	for i, n := range count {
		all[i], room = room[:0:n], room[n:]
	}
	return all
}

// seenFrom returns the other end of a sight and the rise to it.
func (v sight) seenFrom(mark int) (far int, rise float64) {
	if mark == v.from {
		return v.to, v.rise
	}
	return v.from, -v.rise
}

// unreached names the first point that hangs on no fixed one.
func (s *survey) unreached() error {
	for i, v := range s.sights {
		if from := s.marks[v.from]; !from.placed { // then neither is the other end
			return Bad(s.network.field(i, "from", "point"),
				fmt.Sprintf("a point with a path to a fixed one; %.60q has none", from.name))
		}
	}
	return nil
}

// weight is that of a sight, at most 1.
func (s *survey) weight(v sight) float64 {
	ratio := s.unit / v.sd
	return float64(ratio * ratio)
}

// left is what the placing of the marks leaves of a sight.
func (s *survey) left(v sight) float64 {
	return v.rise - (s.marks[v.to].mm - s.marks[v.from].mm)
}

// mesh ties the nodes by the sights.
func (s *survey) mesh() *mesh {
	count := make([]int, s.nodes)
	for _, v := range s.sights {
		count[s.marks[v.from].node]++
		count[s.marks[v.to].node]++
	}
	m := newMesh(count)
	for _, v := range s.sights {
		m.tie(s.marks[v.from].node, s.marks[v.to].node, s.weight(v), s.left(v))
	}
	return m
}

// height is that of a mark, once it is known how far it lies above where it was
// placed.
func (s *survey) height(m mark, lifts []float64) float64 {
	return s.base + (m.mm + lifts[m.node])
}
