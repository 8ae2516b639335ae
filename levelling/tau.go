package levelling

import "math"

// CriticalTau is what the largest residual of an adjustment, over its fitted
// standard deviation, exceeds by chance: Pope's τ at a probability alpha, above 0
// and below 1, for one residual looked at and so many degrees of freedom.
//
// It is for who does not trust the standard deviations given: residual /
// (s0·sd·√redundancy), which is w / s0, is compared with it. Nothing of that kind
// exceeds the square root of the degrees of freedom, so few of them show little,
// and one shows nothing. [Network] tests by the standard deviations given.
//
// τ = t·√f / √(f − 1 + t²) with Student's t of f − 1 degrees of freedom. Like
// [CriticalTwoSided] it is made of + − × ÷ and square roots alone.
func CriticalTau(alpha float64, degreesOfFreedom int) float64 {
	f := float64(max(degreesOfFreedom, 1))
	if f == 1 {
		return 1 // every residual is as large as the only misclosure
	}
	tail := newTauTail(int(f) - 1)
	low, high := 0.0, math.Sqrt(f)
	for range 80 {
		mid := (low + high) / 2
		if tail.beyond(mid*mid/f) > alpha {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// tauTail is the distribution of τ²/f: a beta distribution of ½ and ν/2, for ν of
// one less than the degrees of freedom.
type tauTail struct {
	nu   int
	beta float64 // the complete beta function of ½ and ν/2
}

func newTauTail(nu int) tauTail {
	beta, at := math.Pi, 1
	if nu%2 == 0 {
		beta, at = 2, 2
	}
	for ; at < nu; at += 2 { // B(½, a+1) = B(½, a)·a/(a+½)
		beta *= float64(at) / float64(at+1)
	}
	return tauTail{nu, beta}
}

// beyond is the probability that τ²/f is above q, from 0 to 1.
func (t tauTail) beyond(q float64) float64 {
	const half = 0.5
	a, p := float64(half*float64(t.nu)), 1-q
	front := power(math.Sqrt(p), t.nu) * math.Sqrt(q) / t.beta
	if p < (a+1)/(a+half+2) {
		return front * betaFraction(a, half, p) / a
	}
	twice := front + front
	return 1 - float64(twice*betaFraction(half, a, q))
}

// betaFraction is the continued fraction of the incomplete beta function,
// Abramowitz & Stegun 26.5.8, from its far end. It converges for x below
// (a+1)/(a+b+2).
func betaFraction(a, b, x float64) float64 {
	const pairs = 200
	fraction := 1.0
	for m := float64(pairs); m >= 1; m-- {
		at := a + float64(2*m)
		even := m * (b - m) * x / ((at - 1) * at)
		odd := -(a + m) * (a + b + m) * x / (at * (at + 1))
		fraction = 1 + even/(1+odd/fraction)
	}
	return 1 / (1 - (a+b)*x/(a+1)/fraction)
}

// power is a base from 0 to 1 to a whole power.
func power(base float64, n int) float64 {
	product := 1.0
	for ; n > 0; n /= 2 {
		if n%2 == 1 {
			product *= base
		}
		base *= base
	}
	return product
}
