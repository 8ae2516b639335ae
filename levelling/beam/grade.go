package beam

import "relevel/levelling"

// Grade is a strength grade of timber: what a grader promises of sound timber,
// dry and as graded. Nobody grades what has lain under a floor for decades.
type Grade struct {
	Name       string
	EMPa       float64 // mean modulus of elasticity along the grain
	BendingMPa float64 // characteristic bending strength: one piece in twenty is weaker
	Source     string
}

const (
	en338  = "EN 338:2016"
	as1720 = "AS 1720.1"
)

// grades are by standard, then by strength. Those of EN 338 are called after
// their bending strength.
var grades = []Grade{
	{"C16", 8000, 16, en338},
	{"C24", 11000, 24, en338},
	{"D30", 11000, 30, en338},
	{"D40", 13000, 40, en338},
	{"MGP10", 10000, 17, as1720},
	{"F17", 14000, 42, as1720},
}

// Grades lists the grades that have figures.
func Grades() []Grade { return append([]Grade(nil), grades...) }

// FindGrade returns a grade by its name.
func FindGrade(name string) (Grade, bool) {
	for _, g := range grades {
		if g.Name == name {
			return g, true
		}
	}
	return Grade{}, false
}

// Section is the cross-section of a bearer, as it stands.
type Section struct {
	WidthMM float64
	DepthMM float64 // upright
}

// EI is the stiffness in kN·m² of a section of timber with so many MPa.
func (s Section) EI(eMPa float64) float64 {
	return eMPa * s.WidthMM * s.DepthMM * s.DepthMM * s.DepthMM / 12 * 1e-9
}

// Stress is the bending stress in MPa at the edge of the section.
func (s Section) Stress(m Moment) float64 {
	kNm := m.KNm
	if kNm < 0 {
		kNm = -kNm
	}
	return kNm * 1e6 / (s.WidthMM * s.DepthMM * s.DepthMM / 6)
}

// High is the ratio from which bending is called "high for sound timber of the
// grade: engineer". It is the characteristic strength itself, reached: no
// factor for duration, moisture, age, notches or safety is hidden in it, with
// which every code would stop far earlier. So there is nothing to read from a
// ratio below it, which is never shown as a pass.
const High = 1.0

// Ratio is the bending stress as a part of the characteristic strength of the
// grade (EN 338 or AS 1720.1, by its source).
func (g Grade) Ratio(s Section, m Moment) (float64, error) {
	switch {
	case !finite(s.WidthMM) || s.WidthMM <= 0:
		return 0, levelling.Bad("width_mm", "the width of the bearer in mm, above 0")
	case !finite(s.DepthMM) || s.DepthMM <= 0:
		return 0, levelling.Bad("depth_mm", "the depth of the bearer in mm, above 0")
	case g.BendingMPa <= 0:
		return 0, levelling.Bad("grade", "a grade that has a bending strength")
	}
	ratio := s.Stress(m) / g.BendingMPa
	if !finite(ratio) {
		return 0, errSize
	}
	return ratio, nil
}
