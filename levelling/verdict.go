package levelling

import "math"

// Verdict says whether points meet a limit, as far as their readings can tell.
type Verdict string

// The verdicts there are. A source that indicates, and passes or fails nothing,
// has words of its own for the first two.
const (
	Within    Verdict = "within"
	Outside   Verdict = "outside"
	ReadAgain Verdict = "read-again" // one more reading of each point would tell, if it came out the same
	TooClose  Verdict = "too-close"  // that would not tell either

	NotIndicated Verdict = "not-indicated"
	Indicated    Verdict = "indicated"
)

// indicating is the word for a verdict where the source indicates.
func (v Verdict) indicating() Verdict {
	switch v {
	case Within:
		return NotIndicated
	case Outside:
		return Indicated
	}
	return v
}

// gravity orders verdicts. What is outside stays so whatever the rest turns out
// to be. Of the open ones the one that a further reading leaves open counts.
func (v Verdict) gravity() int {
	switch v {
	case Outside:
		return 3
	case TooClose:
		return 2
	case ReadAgain:
		return 1
	}
	return 0
}

// GuardFactor × standard deviation is the guard band of a verdict: with it on
// the safe side, a verdict is wrong once in twenty times at most (JCGM 106:2012,
// one-sided 95 % of the normal distribution).
const GuardFactor = 1.645

// maxReadings is as often as anybody would read a point to settle a verdict.
const maxReadings = 1000

// finding is points measured against a limit.
type finding struct {
	limitMM, foundMM float64
	guard            float64 // mm, GuardFactor × the standard deviation of what was found
	a, b, third      int     // the points, third -1 where there is none
}

// decided is the verdict with a guard band, if it tells.
func (f *finding) decided(guard float64) (Verdict, bool) {
	switch {
	case atMost(f.foundMM+guard, f.limitMM):
		return Within, true
	case !atMost(f.foundMM-guard, f.limitMM):
		return Outside, true
	}
	return "", false
}

// verdict is the verdict by the readings there are.
func (f *finding) verdict() Verdict {
	if v, tells := f.decided(f.guard); tells {
		return v
	}
	if _, tells := f.decided(f.guard / math.Sqrt2); tells {
		return ReadAgain
	}
	return TooClose
}

// readings is how many of each point in all would tell, each as good as those
// there are and coming out the same; 0 where no number that anybody would take
// does, as where what was found equals the limit.
func (f *finding) readings() int {
	for n := 1; n <= maxReadings; n++ {
		if _, tells := f.decided(f.guard / math.Sqrt(float64(n))); tells {
			return n
		}
	}
	return 0
}

// share is how much of the limit was found. Two points in one place have no
// slope to share in.
func (f *finding) share() float64 {
	if f.foundMM == 0 {
		return 0
	}
	return f.foundMM / f.limitMM
}

// worst keeps the finding that decides a rule: the gravest by its verdict, of
// these the one that takes up most of its limit, of these but for rounding the
// greatest, and of these the first.
type worst struct {
	finding
	verdict Verdict // "" before the first
}

func (w *worst) take(f finding) {
	v := f.verdict()
	if w.verdict == "" || w.yields(&f, v) {
		w.finding, w.verdict = f, v
	}
}

func (w *worst) yields(f *finding, v Verdict) bool {
	if mine, its := w.verdict.gravity(), v.gravity(); mine != its {
		return its > mine
	}
	if mine, its := w.share(), f.share(); !alike(mine, its) {
		return its > mine
	}
	return !alike(w.foundMM, f.foundMM) && f.foundMM > w.foundMM
}

// alike reports that two sizes are the same but for rounding.
func alike(a, b float64) bool { return atMost(a, b) && atMost(b, a) }
