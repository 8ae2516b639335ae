package jobs

import (
	"math"

	"relevel/events"
)

// What a floor weighs where the plan does not say: a timber floor with a
// ceiling, 10 to 12 psf (HUD Residential Structural Design Guide, Table 3.2, at
// second hand), and what stands on it while it is lifted, a part of what it is
// designed for (common practice, no source).
const (
	floorDeadKPa = 0.5
	onFloorKPa   = 0.4
)

// floorDead is the weight of the floor by the plan, or what is taken instead.
func floorDead(l *events.Loads) (kpa float64, said bool) {
	if l == nil || l.FloorDeadKPa == 0 {
		return floorDeadKPa, false
	}
	return l.FloorDeadKPa, true
}

// strip is the width of floor that a bearer carries, m: half of the way to the
// next one on either side, as a mean over its supports.
func (s *State) strip(g *girder) float64 {
	first, last := s.place(g.supports[0]), s.place(g.supports[len(g.supports)-1])
	dx, dy := last.x-first.x, last.y-first.y
	length := math.Sqrt(float64(dx*dx) + float64(dy*dy))
	if length == 0 {
		return 0
	}
	sum := 0.0
	for _, id := range g.supports {
		left, right := 0.0, 0.0
		p := s.place(id)
		for _, other := range s.floor.beside[id] {
			o := s.place(other)
			off := (float64(dx*(o.y-p.y)) - float64(dy*(o.x-p.x))) / length
			left, right = nearer(left, off), nearer(right, -off)
		}
		sum += (left + right) / 2
	}
	return sum / float64(len(g.supports))
}

// nearer keeps the smaller of two distances to one side; 0 is none yet.
func nearer(have, off float64) float64 {
	if off > 0 && (have == 0 || off < have) {
		return off
	}
	return have
}

// weigh works out what lies on each bearer while the floor is lifted.
func (s *State) weigh() {
	dead, _ := floorDead(s.floor.plan.Loads)
	for _, g := range s.floor.girders {
		g.load = (dead + onFloorKPa) * s.strip(g)
	}
}
