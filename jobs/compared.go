package jobs

import (
	"slices"

	"relevel/events"
)

// Compared is the floor before the first lift and now, at the places that were read on
// it both times on one and the same surface: what is read on carpet and what is read
// on boards are heights of two floors, and what was read from below is of none.
type Compared struct {
	Surface string // that all its places were read on both times; "" where nobody named one
	Places  []ComparedPlace
	Other   []string // read both times on one surface, but another than most places
	Changed []string // read on one surface before and on another now
	Once    []string // read on the floor once alone, or not since something moved there
}

// ComparedPlace is one place of the floor, then and now.
type ComparedPlace struct {
	ID          string
	Spot        bool
	Before, Now Figure
}

// Compared compares the floor before with the floor now.
func (s *State) Compared() Compared {
	var out Compared
	of := map[string][]ComparedPlace{}
	for _, id := range s.floor.order {
		p := s.place(id)
		f := p.faces[events.FloorFace]
		if p.noneHere || f == nil {
			continue
		}
		z := p.floorBefore()
		switch {
		case z == nil || f.basis != WasRead || p.stale(f) || s.outdated(p):
			out.Once = append(out.Once, id)
		case z.surface != f.surface:
			out.Changed = append(out.Changed, id)
		default:
			before, now := z.heights[events.FloorFace], p.present(f)
			of[f.surface] = append(of[f.surface], ComparedPlace{id, p.sort == spot, Figure{before.MM, before.SD}, Figure{now.MM, now.SD}})
		}
	}
	out.keepMost(of)
	return out
}

// floorBefore is what was known of a place before the first lift that reached it, or
// else when the work began; nil where its floor was not read by then.
func (p *place) floorBefore() *frozen {
	for _, z := range []*frozen{p.asFound, p.survey} {
		if z != nil {
			if _, read := z.heights[events.FloorFace]; read {
				return z
			}
		}
	}
	return nil
}

// keepMost keeps the places of the surface that most were read on.
func (c *Compared) keepMost(of map[string][]ComparedPlace) {
	most := ""
	for surface, places := range of {
		n := len(of[most])
		if more := len(places); more > n || more == n && surface < most {
			most = surface
		}
	}
	c.Surface, c.Places = most, of[most]
	for surface, places := range of {
		if surface == most {
			continue
		}
		for _, one := range places {
			c.Other = append(c.Other, one.ID)
		}
	}
	slices.Sort(c.Other)
}
