package levelling

import "math"

// Settled is the height of one face between two moves of it, from all readings
// in between. The zero value has no reading. It is a value: Add leaves the old
// one as it was. Its fields are exported so that a stored state can hold it;
// use its methods.
//
// Adding takes time by the number of set-ups that read the face between the
// same two moves, of which there are one or two, and not by that of readings.
type Settled struct {
	Parts []SettledPart `json:"parts,omitempty"` // one a set-up, in the order of first readings
}

// SettledPart is what one set-up says of a face.
type SettledPart struct {
	Setup  string  `json:"setup"`
	Plane  Height  `json:"plane"`
	Count  int     `json:"count"`
	Weight float64 `json:"weight"` // Σ 1/sd²
	Staff  float64 `json:"staff"`  // the weighted mean of its readings, mm
}

// FaceReading is a staff reading on a face.
type FaceReading struct {
	Setup string // tells set-ups apart
	Plane Height // the set-up's plane
	Staff float64
	SD    float64 // of the reading alone, above 0
}

// Add takes another reading. When it brings another plane for a set-up that
// has readings already, as after its closing datum reading, the newer plane
// holds for all of them. The error is an InputError on "plane",
// "plane_sd", "staff" or "sd".
func (s Settled) Add(r FaceReading) (Settled, error) {
	if err := r.check(); err != nil {
		return s, err
	}
	parts := make([]SettledPart, len(s.Parts), len(s.Parts)+1)
	copy(parts, s.Parts)
	for i := range parts {
		if parts[i].Setup == r.Setup {
			parts[i].add(r)
			return Settled{parts}, nil
		}
	}
	part := SettledPart{Setup: r.Setup}
	part.add(r)
	return Settled{append(parts, part)}, nil
}

// Count is the number of readings.
func (s Settled) Count() int {
	n := 0
	for _, p := range s.Parts {
		n += p.Count
	}
	return n
}

// Height returns the estimate, and false without a reading. Readings of one
// set-up share the error of its plane, so repeats lower the staff's part alone;
// several set-ups are combined by inverse variance, their planes taken as
// independent.
func (s Settled) Height() (Height, bool) {
	if len(s.Parts) == 0 {
		return Height{}, false
	}
	heights := make([]Height, len(s.Parts))
	for i, p := range s.Parts {
		heights[i] = p.height()
	}
	return weightedMean(heights), true
}

func (p *SettledPart) add(r FaceReading) {
	w := 1 / float64(r.SD*r.SD)
	p.Plane = r.Plane
	p.Count++
	p.Weight += w
	p.Staff += float64(w*(r.Staff-p.Staff)) / p.Weight
}

func (p SettledPart) height() Height {
	return Reduce(p.Plane, p.Staff, math.Sqrt(1/p.Weight))
}

func (r FaceReading) check() error {
	switch {
	case !isLength(r.Plane.MM):
		return Bad("plane", "a height in mm, within 1 000 km")
	case r.Plane.SD != 0 && !isSD(r.Plane.SD):
		return Bad("plane_sd", "0 or a standard deviation in mm, above 0")
	case !isLength(r.Staff):
		return Bad("staff", "a reading in mm, within 1 000 km")
	case !isSD(r.SD):
		return Bad("sd", "a standard deviation in mm, above 0")
	}
	return nil
}
