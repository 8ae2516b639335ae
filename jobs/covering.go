package jobs

import (
	"fmt"
	"maps"
	"math"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// A height on carpet is no height on boards. What was agreed, surveyed or found
// on one covering is carried to the one that lies there now by how much higher
// it lies, which is learned from the places that were read on both.

// rise is how far the top of one covering lies above that of another: the mean
// of all places whose floor was read on both, weighted by how well each knows.
// It says from how many; none knows none.
func (s *State) rise(from, to string) (h levelling.Height, places int) {
	if from == to || from == "" || to == "" {
		return levelling.Height{}, 0
	}
	k := coverings{from, to}
	if r, known := s.rises[k]; known {
		return r.by, r.places
	}
	var weights, sum float64
	for _, id := range s.floor.order {
		upper, lower := s.places[id].covering(to), s.places[id].covering(from)
		if upper == nil || lower == nil {
			continue
		}
		d := s.filter.Between(upper.state, lower.state)
		if d.SD > anyMM/2 {
			continue // one of them was let go
		}
		w := 1 / (float64(d.SD*d.SD) + coveringSD*coveringSD)
		weights += w
		sum += float64(w * d.MM)
		places++
	}
	if places > 0 {
		h = levelling.Height{MM: sum / weights, SD: math.Sqrt(1 / weights)}
	}
	if s.rises == nil {
		s.rises = map[coverings]risen{}
	}
	s.rises[k] = risen{h, places}
	return h, places
}

// coveringName is the name by which a covering is known, however a phone spells it.
func coveringName(said string) string {
	return strings.ToLower(strings.Join(strings.Fields(said), " "))
}

// maxCoverings is how many coverings are kept of one place beside the one that
// lies there.
const maxCoverings = 4

// coverings are one covering and another in its place.
type coverings struct{ from, to string }

// risen is what rise worked out; it holds until the next event.
type risen struct {
	by     levelling.Height
	places int
}

// coveringSD is how uneven a covering is, mm (common practice, no source).
const coveringSD = 1.0

// covering is the floor face of a place with a covering, lying there now or before.
func (p *place) covering(surface string) *face {
	if p == nil {
		return nil
	}
	if f := p.faces[events.FloorFace]; f != nil && f.surface == surface {
		return f
	}
	for _, f := range p.coverings {
		if f.surface == surface {
			return f
		}
	}
	return nil
}

// surface is the covering that lies at a place now, "" where nobody said.
func (p *place) surface() string {
	if f := p.faces[events.FloorFace]; f != nil {
		return f.surface
	}
	return ""
}

// thaw gives the heights that were frozen, as if what covers the floor now had
// covered it then.
func (s *State) thaw(p *place, z *frozen) map[events.Face]levelling.Height {
	if z == nil {
		return nil
	}
	h, frozen := z.heights[events.FloorFace]
	by, places := s.rise(z.surface, p.surface())
	if !frozen || places == 0 {
		return z.heights
	}
	heights := maps.Clone(z.heights)
	heights[events.FloorFace] = levelling.Height{MM: h.MM + by.MM, SD: rss(h.SD, by.SD)}
	return heights
}

// flagCovering says what becomes of a target that was agreed on one covering
// when another is read.
func (s *State) flagCovering(e placed, p *place, on events.Face, surface string) {
	f := p.faces[on]
	if s.aim == nil || on != s.judgedFace() || f == nil || f.surface == "" || surface == "" || f.surface == surface {
		return
	}
	s.flag(e, fmt.Sprintf("%s was read on %s, and before on %s: its target moves with the covering", p.id, surface, f.surface))
}
