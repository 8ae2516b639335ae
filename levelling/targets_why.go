package levelling

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// forced says why a point that is fixed or capped would have to pass its limit.
func (f *floor) forced(w wave, blocked int, chain []Link) string {
	reasons := []string{f.stands(int(w.source[blocked]))}
	for _, l := range chain {
		reasons = append(reasons, l.words())
	}
	return f.capped(blocked, w.height[blocked]) + ": " + strings.Join(reasons, ", ") + f.lessMargin()
}

// capped says where a point may not go.
func (f *floor) capped(at int, target float64) string {
	p := &f.points[at]
	if p.Fixed {
		return fmt.Sprintf("%s is fixed at %s and would have to come up to %s", named(p.ID), inMM(p.HeightMM), inMM(target))
	}
	return fmt.Sprintf("%s may come up %s at most and would have to come up %s",
		named(p.ID), inMM(*p.MaxLift), inMM(target-p.HeightMM))
}

// stands says how low the point that forces the others may lie.
func (f *floor) stands(at int) string {
	p := &f.points[at]
	switch {
	case p.Fixed:
		return fmt.Sprintf("%s is fixed at %s", named(p.ID), inMM(p.HeightMM))
	case p.MaxLower > 0:
		return fmt.Sprintf("%s may come down to %s at most", named(p.ID), inMM(p.HeightMM-p.MaxLower))
	}
	return fmt.Sprintf("%s stands at %s", named(p.ID), inMM(p.HeightMM))
}

// apart says which two targets break which limit.
func (f *floor) apart(b breach, targets []float64) string {
	return fmt.Sprintf("%s would stand at %s and %s at %s: %s%s",
		named(f.points[b.high].ID), inMM(targets[b.high]), named(f.points[b.low].ID), inMM(targets[b.low]),
		f.bounds.link(b.high, b.low).words(), f.lessMargin())
}

func (f *floor) lessMargin() string {
	if f.goal.MarginMM == 0 {
		return ""
	}
	return " (less the margin of " + inMM(f.goal.MarginMM) + ")"
}

// words says what a link allows.
func (l Link) words() string {
	if l.Kind == RangeLimit {
		return fmt.Sprintf("%s and %s may differ by %s as any two may", named(l.From), named(l.To), inMM(l.LimitMM))
	}
	return fmt.Sprintf("%s and %s, %s m apart, may differ by %s",
		named(l.From), named(l.To), decimal(l.DistanceM), inMM(l.LimitMM))
}

func inMM(x float64) string { return decimal(x) + " mm" }

// decimal writes a number to three places at most.
func decimal(x float64) string {
	if math.Abs(x) >= 1e12 {
		return strconv.FormatFloat(x, 'g', 6, 64)
	}
	rounded := math.Round(x*1000) / 1000
	if rounded == 0 {
		return "0" // without a sign
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// named shows the name of a point in a sentence, quoted where it would break it.
func named(id string) string {
	if len(id) > 40 || strings.ContainsFunc(id, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return quote(id)
	}
	return id
}
