package levelling

import "math"

// CriticalTwoSided is what a standard normal value exceeds in size with
// probability alpha, above 0 and below 1: 1.9600 at 5 %, 2.5758 at 1 %, 3.2905
// at 0.1 %. It is right to 1e-10 of itself from alpha 1e-300 to 0.99.
//
// It stands before decisions, so it is made of + − × ÷ and square roots alone:
// halving an interval, on a tail of our own.
func CriticalTwoSided(alpha float64) float64 {
	low, high := 0.0, 40.0 // the tail beyond 40 is smaller than any number
	for range 80 {
		mid := (low + high) / 2
		if twoTails(mid) > alpha {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// twoTails is the probability that a standard normal value exceeds x in size,
// for x of 0 and more: by the series of Abramowitz & Stegun 26.2.11 near 0 and
// by the continued fraction 26.2.14 in the tail.
func twoTails(x float64) float64 {
	density := expMinus(x*x/2) / math.Sqrt(2*math.Pi)
	if x < 3 {
		term, sum := x, x
		for k := 3.0; term > sum*1e-18; k += 2 {
			term = float64(term * (x * x / k))
			sum += term
		}
		return 1 - float64(2*float64(density*sum))
	}
	fraction := x
	for k := 150.0; k >= 1; k-- {
		fraction = x + k/fraction
	}
	return 2 * density / fraction
}

// expMinus is e^−y for y of 0 and more: the series of a small part of y, squared
// up again.
func expMinus(y float64) float64 {
	const squarings = 12 // 800, beyond which nothing is left, becomes 0.2
	part := y / (1 << squarings)
	term, sum := 1.0, 1.0
	for k := 1.0; k <= 16; k++ {
		term = float64(term * (-part / k))
		sum += term
	}
	for range squarings {
		sum *= sum
	}
	return sum
}
