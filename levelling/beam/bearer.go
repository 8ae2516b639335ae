// Package beam reckons a timber bearer that runs over several supports and only
// rests on them: a support carries or has daylight over it, and never pulls.
//
// It says what each support carries, where the bearer hangs free, how far its
// neighbours move when one support is raised, what the jack will feel on the
// way, and from which lift a neighbour may come off. It is the elastic line of
// a straight beam (Euler and Bernoulli): shear, creep and loose joints are left
// out. Nothing here is an engineering design.
//
// Heights and raises are mm, positive upwards; lengths along the bearer m;
// loads kN, positive downwards; reactions kN, positive upwards; moments kN·m,
// positive where the bearer sags. Supports, spans and joins are counted from 0,
// from the left. Errors for people name the field of the calculator.
package beam

// Rigid is the stiffness of a support that does not give.
const Rigid = 0

// Bearer is one continuous bearer. Where two are butted over a support there
// are two bearers.
type Bearer struct {
	Spans    []Span
	Supports []Support   // one more than there are spans, the outer ones at the ends
	Loads    []PointLoad // beside the uniform ones, in any order
	Joins    []int       // supports over which the bearer bears but passes no moment: halved, scarfed, plated
	TwoWay   bool        // supports hold the bearer down as well
}

// Span is the bearer from one support to the next.
type Span struct {
	LengthM float64
	EI      float64 // kN·m²
	UDL     float64 // kN/m
}

// PointLoad is a load at one place of a span.
type PointLoad struct {
	Span int
	AtM  float64 // from the left end of the span
	KN   float64
}

// Support is what the bearer rests on.
type Support struct {
	RaiseMM   float64 // its top when it carries nothing, from the line on which all supports are level
	Stiffness float64 // kN/mm, or Rigid
}

// Rest is how the bearer rests at one support.
type Rest struct {
	ReactionKN float64
	MomentKNm  float64 // in the bearer over the support
	HeightMM   float64 // of the bearer, from the line on which all supports are level
	GapMM      float64 // daylight between support and bearer
	Floating   bool    // there is daylight
}

// Solution is a bearer at rest.
type Solution struct {
	Rests []Rest // by support

	frame            *frame
	sagging, hogging Moment
}

// Solve lets the bearer come to rest. On supports that only carry, every
// reaction and every gap is 0 or more and one of the two is 0. The reactions
// are unique.
//
// The heights are too, but where the bearer or a part of it is balanced, as on
// the middle one of three supports, or has no load that would press it down.
// Then it is turned so that the sum of the squared gaps is small, one support
// after the other, which shares the daylight evenly between both ends of a
// balanced bearer and lets a part without load lie on its supports.
func (b Bearer) Solve() (*Solution, error) {
	if err := b.check(); err != nil {
		return nil, err
	}
	f := newFrame(b)
	if !f.finite() {
		return nil, errSize
	}
	if err := f.settle(); err != nil {
		return nil, err
	}
	if err := f.verify(); err != nil {
		return nil, err
	}
	s := &Solution{Rests: f.rests(), frame: f}
	s.sagging, s.hogging = extremesOf(b, s.Rests)
	if !s.finite() {
		return nil, errSize
	}
	return s, nil
}

func (s *Solution) finite() bool {
	for _, r := range s.Rests {
		if !finite(r.ReactionKN, r.MomentKNm, r.HeightMM, r.GapMM) {
			return false
		}
	}
	return finite(s.sagging.KNm, s.hogging.KNm)
}
