package levelling

import "math"

// maxBesideM is how far beside the straight line through two points, on the
// plan, a third one still stands for a place on it.
const maxBesideM = 0.25

// flatness finds the third point that decides how flat the floor is. The third
// one stands between the two: a straightedge on them says nothing beyond.
func (s *spots) flatness(r Rule) worst {
	var w worst
	for a := range s.points {
		for b := a + 1; b < len(s.points); b++ {
			s.straightedge(r, a, b, &w)
		}
	}
	return w
}

// straightedge lays a line through two points and measures all others that it
// passes. Two points in one place carry no line.
func (s *spots) straightedge(r Rule, a, b int, w *worst) {
	pa, pb := &s.points[a], &s.points[b]
	length := Distance(pa.X, pa.Y, pb.X, pb.Y)
	mm, holds := r.at(length)
	if !holds || length == 0 {
		return
	}
	limit := wholeMM(mm)
	dx, dy := (pb.X-pa.X)/length, (pb.Y-pa.Y)/length
	beside, beyond := maxBesideM*(1+Slack), float64(length*(1+Slack))
	for c := range s.points {
		x, y := s.points[c].X-pa.X, s.points[c].Y-pa.Y
		along := float64(x*dx) + float64(y*dy)
		off := float64(x*dy) - float64(y*dx)
		if math.Abs(off) > beside || along > beyond || along < length-beyond || c == a || c == b {
			continue
		}
		f := s.offLine(a, b, c, math.Max(0, math.Min(1, along/length)))
		f.limitMM = limit
		w.take(f)
	}
}

// offLine is how far a point lies above or below the line through two others, a
// part of the way from the first to the second. Each reading counts with its
// share in the difference.
func (s *spots) offLine(a, b, c int, part float64) finding {
	ha, hb, hc := s.points[a].Height, s.points[b].Height, s.points[c].Height
	line := float64(ha.MM*(1-part)) + float64(hb.MM*part)
	sd := rss(hc.SD, rss(ha.SD*(1-part), hb.SD*part))
	return finding{foundMM: math.Abs(hc.MM - line), guard: GuardFactor * sd, a: a, b: b, third: c}
}

// wholeMM rounds to whole mm, a half up; what rounding left short of a half is one.
func wholeMM(mm float64) float64 { return math.Floor(mm + 0.5 + Slack) }
