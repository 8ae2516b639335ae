package levelling

import "math"

// LevelPoint is a point of a floor that is judged. A standard deviation of 0
// makes its height exact.
type LevelPoint struct {
	ID     string
	X, Y   float64 // m, on the plan
	Height Height
}

// Judgement is what a profile says of a floor.
type Judgement struct {
	Verdict Verdict // outside if a check is, else too close or read again if one is, else within
	Checks  []Check // one a rule
	Source  string
}

// Check is one rule and the points that decide it.
type Check struct {
	Rule    string
	Verdict Verdict

	// Applies says whether the rule is for any of the points. Where it is for
	// none, nothing is against it, and the rest is zero.
	Applies  bool
	LimitMM  float64 // for points so far apart
	FoundMM  float64
	Between  [2]string // in the order the points were given
	Third    string    // of flatness: the point off the line through these two
	Readings int       // where too close: how many of each in all would tell, 0 if a straightedge has to
}

// Judge says whether the points of one room and one footprint meet a profile.
// Neighbours are pairs of IDs, for rules of points next to each other; without
// any, the nearest to each point is its neighbour.
//
// A rule is decided by the points whose verdict is gravest, of these by those
// that take up most of their limit; the answer does not hang on the order of
// the points. Errors are InputErrors by the fields of the calculator.
func (p Profile) Judge(points []LevelPoint, neighbours [][2]string) (Judgement, error) {
	if err := p.check(); err != nil {
		return Judgement{}, err
	}
	if err := p.checkWork(len(points)); err != nil {
		return Judgement{}, err
	}
	s, err := newSpots(points, neighbours)
	if err != nil {
		return Judgement{}, err
	}
	j := Judgement{Verdict: Within, Source: p.Cite()}
	for _, r := range p.Rules {
		c := s.check(r)
		if c.Verdict.gravity() > j.Verdict.gravity() {
			j.Verdict = c.Verdict
		}
		j.Checks = append(j.Checks, c)
	}
	if p.Indicator {
		j.indicate()
	}
	return j, nil
}

// indicate puts a judgement in the words of a source that indicates.
func (j *Judgement) indicate() {
	j.Verdict = j.Verdict.indicating()
	for i := range j.Checks {
		j.Checks[i].Verdict = j.Checks[i].Verdict.indicating()
	}
}

// check judges one rule.
func (s *spots) check(r Rule) Check {
	var w worst
	switch r.Of {
	case OfFlatness:
		w = s.flatness(r)
	case OfNeighbours:
		w = s.worstOf(r, s.adjacent())
	default:
		w = s.worstPair(r)
	}
	c := Check{Rule: r.String(), Verdict: Within}
	if w.verdict == "" {
		return c
	}
	c.Applies, c.Verdict, c.LimitMM, c.FoundMM = true, w.verdict, w.limitMM, w.foundMM
	c.Between = s.inOrder(w.a, w.b)
	if w.third >= 0 {
		c.Third = s.points[w.third].ID
	}
	if c.Verdict == TooClose {
		c.Readings = w.readings()
	}
	return c
}

func (s *spots) worstPair(r Rule) worst {
	var w worst
	for a := range s.points {
		for b := a + 1; b < len(s.points); b++ {
			s.measure(r, a, b, &w)
		}
	}
	return w
}

func (s *spots) worstOf(r Rule, pairs [][2]int) worst {
	var w worst
	for _, pair := range pairs {
		s.measure(r, pair[0], pair[1], &w)
	}
	return w
}

// measure holds two points against a rule, if it is for them. A range is the
// same at every distance: highest and lowest are two of the points.
func (s *spots) measure(r Rule, a, b int, w *worst) {
	pa, pb := &s.points[a], &s.points[b]
	mm, holds := r.at(Distance(pa.X, pa.Y, pb.X, pb.Y))
	if !holds {
		return
	}
	w.take(finding{
		limitMM: mm,
		foundMM: math.Abs(pa.Height.MM - pb.Height.MM),
		guard:   GuardFactor * rss(pa.Height.SD, pb.Height.SD),
		a:       a, b: b, third: -1,
	})
}
