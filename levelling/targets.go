package levelling

import (
	"cmp"
	"math"
	"slices"
)

// Aim says how the targets of a floor are chosen.
type Aim string

// The aims there are.
const (
	AimLevel   Aim = "level"   // all to one height
	AimHighest Aim = "highest" // all to the highest point
	AimPlane   Aim = "plane"   // all to a slope that is kept, as low as brings nothing down
	AimLeast   Aim = "least"   // as little lift as the agreed limits allow
)

// AimPoint is a point of a floor before the work: a support or a spot.
type AimPoint struct {
	ID       string
	X, Y     float64 // m, on the plan
	Room     string  // a profile's rules of a room bind the points of one alone
	HeightMM float64
	Fixed    bool     // keeps its height, whatever the two below say
	MaxLift  *float64 // mm, the most it may come up; nil without such a cap
	MaxLower float64  // mm, the most it may come down, as somebody agreed
}

// Goal is an aim with all that belongs to it.
type Goal struct {
	Aim            Aim
	HeightMM       float64 // of AimLevel
	SlopeX, SlopeY float64 // of AimPlane, mm a metre
	MarginMM       float64 // comes off every limit
	Limits         []Limit

	// Profile's rules bind beside the limits, those of any two points and of the
	// whole floor. Rules of neighbours and of flatness do not: they are judged
	// afterwards.
	Profile Profile
}

// rules are all that bind the targets.
func (g Goal) rules() []Rule {
	rules := make([]Rule, 0, len(g.Limits)+len(g.Profile.Rules))
	for _, l := range g.Limits {
		rules = append(rules, Rule{Limit: l, Whole: true})
	}
	for _, r := range g.Profile.Rules {
		if r.Of == OfPairs {
			rules = append(rules, r)
		}
	}
	return rules
}

// Target is the height chosen for one point.
type Target struct {
	ID     string  `json:"id"`
	MM     float64 `json:"target_mm"`
	LiftMM float64 `json:"lift_mm"` // from the height it has, negative to bring it down
}

// Targets is what a goal asks of a floor.
type Targets struct {
	Points       []Target // in the order given
	TotalLift    float64  // mm, of all that come up
	TotalLower   float64  // mm, of all that come down, positive
	GreatestLift float64  // mm
	Touched      int      // how many points move
	SetBy        string   // the point that sets the targets, "" where none does
	Chain        []Link   // of AimLeast: from the point that forces to the one that is forced
	Feasible     bool
	Why          string // what stands against each other where it is not feasible
}

// Link is a step of the chain by which one point forces another up: To may lie
// no further below From than the limit.
type Link struct {
	From      string    `json:"from"`
	To        string    `json:"to"`
	Kind      LimitKind `json:"kind"`
	LimitMM   float64   `json:"limit_mm"` // less the margin
	DistanceM float64   `json:"distance_m"`
}

// Targets chooses a target for every point.
//
// Level, highest and plane say where a point should lie. One above that keeps
// its height, or under AimLevel comes down as far as its MaxLower; highest and
// plane lie so high that none is above. A fixed point keeps its height. SetBy
// is the point that touches the plane from below. The goal is not feasible
// where a point would have to pass its cap, or two targets break a limit less
// the margin; the targets are what was asked for all the same.
//
// Least is the smallest lift at every single point that meets the limits less
// the margin, and then the smallest lowering. SetBy is the point that forces
// the most lift on others, and Chain leads from it to the one it lifts most.
// The goal is not feasible where a fixed point or a cap lies below what the
// others force: then Chain leads to that point, and the targets are those that
// would meet the limits if no point were fixed or capped.
//
// Of points that tie, the one whose ID is first by alphabet counts; the answer
// does not hang on the order of the points. Errors are InputErrors by the
// fields of the calculator: points[2].id and so on, counted from 0.
func (g Goal) Targets(points []AimPoint) (Targets, error) {
	if err := g.check(points); err != nil {
		return Targets{}, err
	}
	f := newFloor(points, g)
	choose := f.facing
	if g.Aim == AimLeast {
		choose = f.least
	}
	t, err := choose()
	if err != nil {
		return Targets{}, err
	}
	if !finite(t.TotalLift, t.TotalLower) { // and so is every target and move
		return Targets{}, Bad("points", "smaller numbers: a total goes beyond what a number holds")
	}
	return t, nil
}

// floor is the points of a goal in the order of their IDs.
type floor struct {
	goal   Goal
	points []AimPoint
	given  []int // where each stood when given
	bounds *bounds
	slack  float64 // mm, what rounding may put between two ways to one height
}

func newFloor(points []AimPoint, g Goal) *floor {
	f := &floor{goal: g, given: make([]int, len(points)), points: make([]AimPoint, len(points))}
	for i := range f.given {
		f.given[i] = i
	}
	slices.SortFunc(f.given, func(a, b int) int { return cmp.Compare(points[a].ID, points[b].ID) })
	for i, at := range f.given {
		f.points[i] = points[at]
		f.slack = math.Max(f.slack, math.Abs(points[at].HeightMM))
	}
	// A thousandth of what answers are rounded to, and more for heights so great
	// that their last digits are coarser.
	f.slack = 1e-6 + float64(1e-13*f.slack)
	f.bounds = newBounds(f.points, g)
	return f
}

// lower is how far a point may come down.
func (p *AimPoint) lower() float64 {
	if p.Fixed {
		return 0
	}
	return p.MaxLower
}

// ceiling is the greatest height a point may have.
func (p *AimPoint) ceiling() float64 {
	switch {
	case p.Fixed:
		return p.HeightMM
	case p.MaxLift != nil:
		return p.HeightMM + *p.MaxLift
	}
	return math.Inf(1)
}

// settle puts targets, which stand in the order of the floor, into an answer.
func (f *floor) settle(targets []float64) Targets {
	t := Targets{Points: make([]Target, len(targets)), Feasible: true}
	for i, mm := range targets {
		lift := mm - f.points[i].HeightMM
		t.Points[f.given[i]] = Target{ID: f.points[i].ID, MM: mm, LiftMM: lift}
		t.TotalLift += math.Max(0, lift)
		t.TotalLower += math.Max(0, -lift)
		t.GreatestLift = math.Max(t.GreatestLift, lift)
		if math.Abs(lift) > f.slack {
			t.Touched++
		}
	}
	return t
}

// greatest returns the index of the greatest value, of those that tie but for
// rounding the first.
func (f *floor) greatest(values []float64) int {
	most := slices.Max(values)
	return slices.IndexFunc(values, func(x float64) bool { return x >= most-f.slack })
}
