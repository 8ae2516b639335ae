package beam

import (
	"math"

	"relevel/levelling"
)

// Watch is a support that the bearer may leave while another is raised.
type Watch struct {
	Support int
	From    float64  // mm of raise, or of lowering, the earliest
	To      *float64 // mm, the latest; nil when it may also stay on all the way
}

// Watch says, for raising support i by so many mm, which other supports the
// bearer may leave, and from which raise to which that may begin. Nobody knows
// the stiffness and the load of an old bearer: it is tried as given, and with
// either of them multiplied and divided by the factor, 1 or more, in all four
// combinations. A support that the bearer as given does not touch is left out.
func (b Bearer) Watch(i int, to, factor float64) ([]Watch, error) {
	if !finite(factor) || factor < 1 {
		return nil, levelling.Bad("factor", "how far stiffness and load may be off, 1 or more")
	}
	given, err := b.Solve()
	if err != nil {
		return nil, err
	}
	leaves := newLeaving(len(b.Supports))
	tries := [][2]float64{{1, 1}, {factor, factor}, {factor, 1 / factor}, {1 / factor, factor}, {1 / factor, 1 / factor}}
	for _, by := range tries {
		if err := leaves.try(b.scaled(by[0], by[1]), i, to); err != nil {
			return nil, err
		}
	}
	var all []Watch
	for j, on := range given.touched() {
		if on && j != i && leaves.times[j] > 0 {
			w := Watch{Support: j, From: leaves.first[j]}
			if leaves.times[j] == len(tries) {
				w.To = &leaves.last[j]
			}
			all = append(all, w)
		}
	}
	return all, nil
}

// scaled is the bearer with other stiffness and load.
func (b Bearer) scaled(stiffness, load float64) Bearer {
	spans := make([]Span, len(b.Spans))
	for i, s := range b.Spans {
		spans[i] = Span{LengthM: s.LengthM, EI: s.EI * stiffness, UDL: s.UDL * load}
	}
	loads := make([]PointLoad, len(b.Loads))
	for i, l := range b.Loads {
		loads[i] = PointLoad{Span: l.Span, AtM: l.AtM, KN: l.KN * load}
	}
	b.Spans, b.Loads = spans, loads
	return b
}

// leaving gathers, by support, after which raise the bearer leaves it.
type leaving struct {
	times       []int // in how many of the tries
	first, last []float64
}

func newLeaving(n int) *leaving {
	l := &leaving{times: make([]int, n), first: make([]float64, n), last: make([]float64, n)}
	for j := range n {
		l.first[j] = math.Inf(1)
	}
	return l
}

// try adds one bearer. What it does not touch to begin with it left at nothing.
func (l *leaving) try(b Bearer, i int, to float64) error {
	begin, err := b.Solve()
	if err != nil {
		return err
	}
	steps, err := b.Path(i, to)
	if err != nil {
		return err
	}
	left := make([]bool, len(b.Supports))
	for j, on := range begin.touched() {
		if !on {
			l.leave(left, j, 0)
		}
	}
	for _, s := range steps {
		for _, j := range s.Off {
			l.leave(left, j, math.Abs(s.RaiseMM))
		}
	}
	return nil
}

// leave notes the first time that one try leaves a support.
func (l *leaving) leave(left []bool, j int, raise float64) {
	if left[j] {
		return
	}
	left[j] = true
	l.times[j]++
	l.first[j] = min(l.first[j], raise)
	l.last[j] = max(l.last[j], raise)
}
