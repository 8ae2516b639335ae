package drawing

import (
	"math"
	"slices"

	"relevel/events"
	"relevel/jobs"
)

// zero is what heights are counted down from: each support's target, or the
// highest height of the job while nobody has set one.
type zero struct {
	aimed  bool
	common bool        // one height for all
	mm     float64     // that height
	face   events.Face // whose surface must be one and the same
}

func zeroing(p jobs.Picture) zero {
	z := zero{common: true, mm: math.Inf(-1), face: judged(p)}
	for _, s := range p.Supports {
		if s.Target == nil {
			continue
		}
		if z.aimed && *s.Target != z.mm {
			z.common = false
		}
		z.aimed, z.mm = true, *s.Target
	}
	if z.aimed {
		return z
	}
	for _, w := range []When{Survey, AsFound, Now} {
		for _, s := range p.Supports {
			if f := figureAt(s, w); f != nil {
				z.mm = max(z.mm, f.MM)
			}
		}
		for _, s := range p.Spots {
			if f := z.spotAt(s, w); f != nil {
				z.mm = max(z.mm, f.MM)
			}
		}
	}
	return z
}

// judged is the face that heights are compared on: the aim's, or the floor
// where anybody read it, or the face that is there.
func judged(p jobs.Picture) events.Face {
	if p.Aim != nil && p.Aim.Agreed.Face != "" {
		return p.Aim.Agreed.Face
	}
	var face events.Face
	for _, s := range p.Supports {
		for _, f := range s.Faces {
			if f.Face == events.FloorFace {
				return f.Face
			}
			face = f.Face
		}
	}
	return face
}

func figureAt(s jobs.Support, when When) *jobs.Figure {
	switch {
	case s.NoneHere:
		return nil
	case when == Survey:
		return s.Survey
	case when == AsFound:
		return s.AsFound
	}
	return s.Present
}

// below is how far a support lies below zero at a time.
func (z zero) below(s jobs.Support, when When) (mm, sd float64, known bool) {
	f := figureAt(s, when)
	switch {
	case f == nil:
		return 0, 0, false
	case when == Now && s.Target != nil && s.Remaining != nil:
		return s.Remaining.MM, s.Remaining.SD, true // the figure of every other drawing
	case s.Target != nil:
		return *s.Target - f.MM, f.SD, true
	case z.aimed && !z.common:
		return 0, 0, false
	}
	return z.mm - f.MM, f.SD, true
}

// spotAt is the height of a spot at a time, nil where it was not read on the face
// that heights are compared on, or where nobody knows it by now: whether the
// moves since it was read carried it is written nowhere.
func (z zero) spotAt(s jobs.Spot, when When) *jobs.Figure {
	onFace := slices.ContainsFunc(s.Faces, func(f jobs.FaceOf) bool { return f.Face == z.face })
	switch {
	case !onFace:
		return nil
	case when == Survey:
		return s.Survey
	case when == AsFound:
		return s.AsFound
	case s.Basis != jobs.WasRead:
		return nil
	}
	return s.Present
}

// belowSpot is how far a spot lies below zero at a time. It has no target of its
// own: where not all supports have the same, nobody agreed on one.
func (z zero) belowSpot(s jobs.Spot, when When) (mm, sd float64, known bool) {
	f := z.spotAt(s, when)
	if f == nil || z.aimed && !z.common {
		return 0, 0, false
	}
	return z.mm - f.MM, f.SD, true
}

// furthest is the most that any place had to go at any time of the job.
func (z zero) furthest(p jobs.Picture) float64 {
	far := 0.0
	for _, s := range p.Supports {
		for _, w := range []When{Survey, AsFound, Now} {
			if mm, _, known := z.below(s, w); known {
				far = max(far, mm)
			}
		}
	}
	for _, s := range p.Spots {
		for _, w := range []When{Survey, AsFound, Now} {
			if mm, _, known := z.belowSpot(s, w); known {
				far = max(far, mm)
			}
		}
	}
	return far
}

// seenAt are the readings of a time: those of supports, and of the spots that
// were read on the same face.
func (z zero) seenAt(p jobs.Picture, when When) []seen {
	var all []seen
	for _, s := range p.Supports {
		if mm, sd, known := z.below(s, when); known {
			all = append(all, seen{
				reading: reading{s.X, s.Y, mm}, sd: sd, name: s.ID,
				expected: when == Now && !wasRead(s), surface: z.surface(s.Faces, when),
			})
		}
	}
	for _, s := range p.Spots {
		if mm, sd, known := z.belowSpot(s, when); known {
			all = append(all, seen{reading: reading{s.X, s.Y, mm}, sd: sd, name: s.ID, surface: z.surface(s.Faces, when)})
		}
	}
	return all
}

// surface is what the judged face was read on. Only that of now is known.
func (z zero) surface(faces []jobs.FaceOf, when When) string {
	for _, f := range faces {
		if f.Face == z.face && when == Now {
			return f.Surface
		}
	}
	return ""
}
