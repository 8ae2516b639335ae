package levelling

import "math"

// DatumReading is the staff read on a datum from a set-up.
type DatumReading struct {
	Datum Height  // the datum's height; SD 0 for the one that defines the job's heights
	Staff float64 // mm, negative upside down
	SD    float64 // mm, above 0
}

// plane is the height of the laser's plane by this reading alone.
func (d DatumReading) plane() Height { return d.Datum.plus(Height{d.Staff, d.SD}) }

// Spread is the greatest disagreement between the datums of one set-up.
type Spread struct {
	MM  float64 // the greatest difference between two planes, never negative
	Odd bool    // some two differ by more than chance: a datum, or the laser, has moved
}

// Plane returns the height of a set-up's plane from the datums read in it: the
// mean of datum height + staff, weighted by inverse variance. Readings count as
// independent, so a datum read several times goes in as one mean.
//
// Errors are InputErrors: on "datums" without any, or on "datums[i].sd" and the
// like, counted from 0.
func Plane(datums []DatumReading) (Height, Spread, error) {
	if len(datums) == 0 {
		return Height{}, Spread{}, Bad("datums", "at least one datum read from this set-up")
	}
	planes := make([]Height, len(datums))
	for i, d := range datums {
		if err := d.check(i); err != nil {
			return Height{}, Spread{}, err
		}
		planes[i] = d.plane()
	}
	return weightedMean(planes), spread(planes), nil
}

func (d DatumReading) check(i int) error {
	field := func(name string) string { return indexed("datums", i, name) }
	switch {
	case !isLength(d.Datum.MM):
		return Bad(field("height"), "a height in mm, within 1 000 km")
	case d.Datum.SD != 0 && !isSD(d.Datum.SD):
		return Bad(field("height_sd"), "0 or a standard deviation in mm, above 0")
	case !isLength(d.Staff):
		return Bad(field("staff"), "a reading in mm, within 1 000 km")
	case !isSD(d.SD):
		return Bad(field("sd"), "a standard deviation in mm, above 0")
	}
	return nil
}

// spread compares every two planes; a set-up has a handful of datums.
func spread(planes []Height) Spread {
	var s Spread
	for i, a := range planes {
		for _, b := range planes[:i] {
			by, odd := Disagrees(a, b)
			s.MM = math.Max(s.MM, math.Abs(by))
			s.Odd = s.Odd || odd
		}
	}
	return s
}

// Reduce returns the height of a face from a staff reading on it: plane −
// staff. Upside down the reading is negative and the face above the plane.
func Reduce(plane Height, staff, sd float64) Height {
	return plane.minus(Height{staff, sd})
}

// weightedMean combines independent estimates of one height by inverse
// variance. Every SD is above 0.
//
// The mean is taken of differences from the first, so that a great height
// common to all costs no digits.
func weightedMean(hs []Height) Height {
	var weights, sum float64
	for _, h := range hs {
		w := 1 / float64(h.SD*h.SD)
		weights += w
		sum += float64(w * (h.MM - hs[0].MM))
	}
	return Height{hs[0].MM + sum/weights, math.Sqrt(1 / weights)}
}
