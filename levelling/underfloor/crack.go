package underfloor

import "relevel/levelling"

// CrackSource is where the width classes of CrackClass are published.
const CrackSource = "BRE Digest 251, by width alone"

// CrackClass returns the class of damage, 0 to 5, by the width of a crack in mm
// alone, after BRE Digest 251: below 0.1 is class 0, then 1 as far as 1 mm, 2
// to 5, 3 to 15, 4 to 25, upper bounds inclusive, and 5 beyond. The digest goes
// by ease of repair first, so a screen says "width class 2 by BRE Digest 251"
// and never a bare grade. The error is an InputError on "width_mm".
func CrackClass(width float64) (int, error) {
	if !atLeast(width, 0) {
		return 0, levelling.Bad("width_mm", "the width of the crack in mm, 0 or more")
	}
	if width < 0.1 {
		return 0, nil
	}
	class := 1
	for _, upper := range [...]float64{1, 5, 15, 25} {
		if width > upper {
			class++
		}
	}
	return class, nil
}
