package drawing

import (
	"math"

	"relevel/jobs"
)

// LineScale is one scale for the lines of several prints: what stands for a
// bearer's own line, and how far heights are exaggerated.
type LineScale struct {
	zero, times float64
	aimed       bool
}

// ScaleOf is the scale on which the lines of a floor fit as it lay at several
// times, so that prints can be laid beside one another.
func ScaleOf(turn int, all ...jobs.Picture) *LineScale {
	s := &LineScale{zero: math.Inf(-1), times: math.Inf(1)}
	for _, p := range all {
		mm, aimed := zeroOf(p)
		if aimed && !s.aimed || aimed == s.aimed && mm > s.zero {
			s.zero, s.aimed = mm, aimed
		}
	}
	for _, p := range all {
		d := newLines(p, turn)
		d.zero = s.zero
		s.times = min(s.times, roundDown(d.fitting()*1000/d.l.scale))
	}
	return s
}

// on draws lines on a scale of others.
func (d *lines) on(s *LineScale) {
	if s == nil {
		return
	}
	d.zero, d.aimed, d.times = s.zero, s.aimed, s.times
	d.pxPerMM = d.times * d.l.scale / 1000
}

// Furthest is the most that any place had to go at any time of a job: the end of
// the scale of its shading, mm.
func Furthest(p jobs.Picture) float64 { return zeroing(p).furthest(p) }

// At is a job's picture with the heights of an earlier time in place of those of
// now, as they were read then.
func At(p jobs.Picture, when When) jobs.Picture {
	if when == Now {
		return p
	}
	supports := make([]jobs.Support, len(p.Supports))
	for i, s := range p.Supports {
		s.Present, s.AsFound, s.Remaining, s.Stale, s.Doubt = figureAt(s, when), nil, nil, false, ""
		if s.Present != nil {
			s.Basis = jobs.WasRead
		}
		if s.Present != nil && s.Target != nil && !s.LeftOut {
			s.Remaining = &jobs.Figure{MM: *s.Target - s.Present.MM, SD: s.Present.SD}
		}
		supports[i] = s
	}
	p.Supports = supports
	return p
}
