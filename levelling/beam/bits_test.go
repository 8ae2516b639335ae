package beam_test

import (
	"errors"
	"testing"

	"relevel/levelling"
	"relevel/levelling/beam"
	"relevel/levelling/bitstest"
)

// outcome is all that is reckoned of a bearer, or the field and cure of its
// error.
type outcome struct {
	Rests            []beam.Rest
	Sagging, Hogging beam.Moment
	Influence        beam.Influence
	Steps            []beam.Step
	Watch            []beam.Watch
	Bad              *levelling.InputError
}

// The same bearer rests the same to the last bit on every kind of machine.
func TestBits(t *testing.T) {
	bitstest.Same(t, "testdata/bits.txt", "bearers", 1000, func(number uint64) any {
		d := roll(number)
		b := d.bearer(1 + d.IntN(9))
		if number%4 == 3 {
			b = d.wildBearer(1+d.IntN(9), d.IntN(100))
		}
		out, err := playBearer(b, d)
		errors.As(err, &out.Bad)
		return out
	})
}

func playBearer(b beam.Bearer, d dice) (out outcome, err error) {
	s, err := b.Solve()
	if err != nil {
		return out, err
	}
	out.Rests = s.Rests
	out.Sagging, out.Hogging = s.Extremes()
	if out.Influence, err = s.Influence(); err != nil {
		return out, err
	}
	i, to := d.IntN(len(b.Supports)), d.between(-60, 60)
	if out.Steps, err = b.Path(i, to); err != nil {
		return out, err
	}
	out.Watch, err = b.Watch(i, to, 2)
	return out, err
}
