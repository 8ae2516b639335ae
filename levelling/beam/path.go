package beam

import (
	"math"
	"slices"

	"relevel/levelling"
)

// Step is a point on the way of a support that is raised: between two of them
// everything changes evenly.
type Step struct {
	RaiseMM float64 // by how much the support has been raised so far
	ForceKN float64 // what it carries there: what its jack feels
	Off     []int   // supports that the bearer leaves there
	On      []int   // supports that it comes to lie on
}

// Path raises support i by so many mm, or lowers it, and returns every step at
// which the bearer leaves a support or comes to lie on one, in order, and at
// last the end.
func (b Bearer) Path(i int, to float64) ([]Step, error) {
	if i < 0 || i >= len(b.Supports) {
		return nil, levelling.Bad("supports", "a support that there is")
	}
	if !finite(to) {
		return nil, levelling.Bad("raise_mm", "by how much to raise in mm")
	}
	w := walk{bearer: b, support: i, to: to, nudge: 1e-7 * math.Abs(to)}
	w.bearer.Supports = slices.Clone(b.Supports)
	w.start = b.Supports[i].RaiseMM
	return w.steps()
}

// walk follows a support on its way.
type walk struct {
	bearer  Bearer
	support int
	start   float64 // its raise before
	to      float64 // by how much it is raised, negative when it is lowered
	nudge   float64 // how far behind a step to look what holds there

	on []bool // what the bearer lies on
}

// after solves the bearer with the support raised by so much.
func (w *walk) after(raised float64) (*Solution, error) {
	w.bearer.Supports[w.support].RaiseMM = w.start + raised
	return w.bearer.Solve()
}

func (w *walk) steps() (steps []Step, err error) {
	s, err := w.after(0)
	if err != nil {
		return nil, err
	}
	w.on = s.touched()
	for at := 0.0; at < math.Abs(w.to); {
		var here Step
		if here, at, err = w.next(at); err != nil {
			return nil, err
		}
		if here.Off != nil || here.On != nil {
			steps = append(steps, here)
		}
		if len(steps) > 100+20*len(w.on) {
			return nil, errSize
		}
	}
	if s, err = w.after(w.to); err != nil {
		return nil, err
	}
	end := Step{RaiseMM: w.to, ForceKN: s.Rests[w.support].ReactionKN}
	end.Off, end.On = w.changed(s.touched())
	return append(steps, end), nil
}

// next looks just behind the place at, so many mm along the way, what has
// changed there and where the next change will be. Where it finds none it looks
// further the next time.
func (w *walk) next(at float64) (here Step, then float64, err error) {
	far := math.Abs(w.to)
	sign := math.Copysign(1, w.to)
	behind := min(at+w.nudge, far)
	s, err := w.after(sign * behind)
	if err != nil {
		return here, 0, err
	}
	height, force, err := s.Raise(w.support)
	if err != nil {
		return here, 0, err
	}
	here = Step{RaiseMM: sign * at, ForceKN: max(0, s.Rests[w.support].ReactionKN-float64(sign*force[w.support]*(behind-at)))}
	if w.bearer.TwoWay {
		return here, far, nil
	}
	if here.Off, here.On = w.changed(s.touched()); here.Off == nil && here.On == nil {
		w.nudge *= 2
	}
	return here, behind + w.ahead(s, height, force, sign), nil
}

// ahead is how far it is to the next change.
func (w *walk) ahead(s *Solution, height, force []float64, sign float64) float64 {
	least := math.Inf(1)
	for j, r := range s.Rests {
		left, rate := r.GapMM, sign*height[j]
		switch {
		case w.on[j]:
			left, rate = r.ReactionKN, sign*force[j]
		case j == w.support:
			rate = -sign
		}
		if rate < 0 {
			least = min(least, left/-rate)
		}
	}
	return least
}

// changed compares with what the bearer lay on before, and keeps it.
func (w *walk) changed(on []bool) (off, came []int) {
	for j := range on {
		switch {
		case w.on[j] && !on[j]:
			off = append(off, j)
		case !w.on[j] && on[j]:
			came = append(came, j)
		}
	}
	w.on = on
	return off, came
}
