package levelling

// PegCheck is a two-peg check of a level or laser: two staffs read from midway
// between them, where the error of the line is the same on both and drops out,
// and read again from somewhere nearer one of them.
type PegCheck struct {
	MidA, MidB float64 // staffs from midway, mm, negative upside down
	OffA, OffB float64 // staffs from the second place, mm
	ToA, ToB   float64 // distances from the second place, m, not the same
}

// PegError is what a two-peg check found.
type PegError struct {
	PerMetre               float64 // mm for each metre of sight; positive when the line points up
	CorrectedA, CorrectedB float64 // what the staffs of the second place would read on a level line, mm
}

// Error returns the error of the line. The procedure is that of US Navy
// NAVEDTRA 14070. Errors are InputErrors on the field as calculators name it.
func (p PegCheck) Error() (PegError, error) {
	if err := p.check(); err != nil {
		return PegError{}, err
	}
	per := ((p.OffA - p.OffB) - (p.MidA - p.MidB)) / (p.ToA - p.ToB)
	e := PegError{per, p.OffA - float64(per*p.ToA), p.OffB - float64(per*p.ToB)}
	if !finite(e.PerMetre, e.CorrectedA, e.CorrectedB) {
		return PegError{}, Bad("off", "smaller readings, or distances further apart: the error goes beyond what a number holds")
	}
	return e, nil
}

func (p PegCheck) check() error {
	staffs := []struct {
		field string
		mm    float64
	}{{"mid.a_mm", p.MidA}, {"mid.b_mm", p.MidB}, {"off.a_mm", p.OffA}, {"off.b_mm", p.OffB}}
	for _, s := range staffs {
		if !finite(s.mm) {
			return Bad(s.field, "the reading of the staff in mm")
		}
	}
	const distance = "its distance from the instrument in m, 0 or more"
	switch {
	case !finite(p.ToA) || p.ToA < 0:
		return Bad("off.to_a_m", distance)
	case !finite(p.ToB) || p.ToB < 0:
		return Bad("off.to_b_m", distance)
	case p.ToA == p.ToB:
		return Bad("off.to_b_m", "another distance than to_a_m: from midway the error does not show")
	}
	return nil
}
