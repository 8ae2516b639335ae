package levelling

import (
	"fmt"
	"math"
)

// check refuses a goal and points that do not make sense, by the fields of the
// calculator.
func (g Goal) check(points []AimPoint) error {
	if err := g.checkSelf(); err != nil {
		return err
	}
	if len(points) == 0 {
		return Bad("points", "the points of the floor, at least one")
	}
	return checkEach(points)
}

func (p AimPoint) name() string { return p.ID }

func (g Goal) checkSelf() error {
	switch g.Aim {
	case AimLevel, AimHighest, AimPlane, AimLeast:
	default:
		return Bad("aim", "one of level, highest, plane, least")
	}
	switch {
	case !finite(g.HeightMM):
		return Bad("height_mm", "the height to level to in mm")
	case !finite(g.SlopeX):
		return Bad("plane.x_mm_per_m", "the rise in mm for each metre of x")
	case !finite(g.SlopeY):
		return Bad("plane.y_mm_per_m", "the rise in mm for each metre of y")
	case !finite(g.MarginMM) || g.MarginMM < 0:
		return Bad("margin_mm", "what comes off every limit in mm, 0 or more")
	}
	for i, l := range g.Limits {
		if err := l.Check(fmt.Sprintf("limits[%d]", i), g.MarginMM); err != nil {
			return err
		}
	}
	for _, r := range g.Profile.Rules {
		if err := r.Limit.Check("profile "+g.Profile.Name, g.MarginMM); err != nil {
			return err
		}
	}
	return nil
}

func (p AimPoint) check(i int) error {
	field := func(name string) string { return indexed("points", i, name) }
	switch {
	case p.ID == "":
		return Bad(field("id"), "the name of the point")
	case !finite(p.X):
		return Bad(field("x_m"), "its position on the plan in m")
	case !finite(p.Y):
		return Bad(field("y_m"), "its position on the plan in m")
	case !finite(p.HeightMM):
		return Bad(field("height_mm"), "its height in mm, positive upwards")
	case p.MaxLift != nil && (math.IsNaN(*p.MaxLift) || *p.MaxLift < 0):
		return Bad(field("max_lift_mm"), "the most it may come up in mm, 0 or more")
	case math.IsNaN(p.MaxLower) || p.MaxLower < 0:
		return Bad(field("max_lower_mm"), "the most it may come down in mm, 0 or more")
	}
	return nil
}
