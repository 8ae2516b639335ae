package levelling

import "math"

// sdRange is how many times the smallest standard deviation of an adjustment
// the largest may be: far beyond any sense, and near enough that no product of
// weights leaves the range of numbers.
const sdRange = 1e30

// checkSDs returns an InputError on the first standard deviation that is not
// above 0, or so much larger than the smallest that it carries no weight.
func checkSDs(sds []float64, field func(i int) string) error {
	smallest := math.Inf(1)
	for i, sd := range sds {
		if !finite(sd) || sd <= 0 {
			return Bad(field(i), "a standard deviation in mm, above 0")
		}
		smallest = math.Min(smallest, sd)
	}
	for i, sd := range sds {
		if sd/smallest > sdRange {
			return Bad(field(i), "a standard deviation at most 1e30 times the smallest")
		}
	}
	return nil
}
