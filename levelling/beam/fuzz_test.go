package beam_test

import (
	"errors"
	"math"
	"testing"

	"relevel/levelling"
	"relevel/levelling/beam"
)

// wild draws numbers of any size: of either sign, and up to so many powers of
// ten from 1.
func (d dice) wild(powers int) float64 {
	x := d.between(0.1, 1)
	for range d.IntN(powers + 1) {
		x *= 10
	}
	if d.IntN(2) == 0 {
		x = 1 / x
	}
	return x
}

func (d dice) wildBearer(spans, powers int) beam.Bearer {
	signed := func() float64 {
		switch d.IntN(4) {
		case 0:
			return 0
		case 1:
			return -d.wild(powers)
		}
		return d.wild(powers)
	}
	b := beam.Bearer{Supports: make([]beam.Support, spans+1), TwoWay: d.IntN(4) == 0}
	for i := range b.Supports {
		b.Supports[i].RaiseMM = signed()
		if d.IntN(2) == 0 {
			b.Supports[i].Stiffness = d.wild(powers)
		}
	}
	for i := range spans {
		b.Spans = append(b.Spans, beam.Span{LengthM: d.wild(powers), EI: d.wild(powers), UDL: signed()})
		if d.IntN(3) == 0 {
			b.Loads = append(b.Loads, beam.PointLoad{Span: i, AtM: b.Spans[i].LengthM * float64(d.IntN(3)) / 2, KN: signed()})
		}
		if i > 0 && d.IntN(3) == 0 {
			b.Joins = append(b.Joins, i)
		}
	}
	return b
}

// Whatever is asked, the answer is finite and one-way, or an InputError.
func FuzzSolve(f *testing.F) {
	for powers := range uint16(30) {
		f.Add(uint64(powers), uint8(powers%8), powers*10)
	}
	f.Fuzz(func(t *testing.T, seed uint64, spans uint8, powers uint16) {
		d := roll(seed)
		b := d.wildBearer(1+int(spans)%40, int(powers)%309)
		checkAnswer(t, b)
		i, to := d.IntN(len(b.Supports)), d.wild(int(powers)%309)
		if _, err := b.Watch(i, to, 2); err != nil {
			checkRefusal(t, err)
		}
		if steps, err := b.Path(i, -to); err != nil {
			checkRefusal(t, err)
		} else {
			for _, s := range steps {
				checkFinite(t, s.RaiseMM, s.ForceKN)
			}
		}
	})
}

func checkAnswer(t *testing.T, b beam.Bearer) {
	t.Helper()
	s, err := b.Solve()
	if err != nil {
		checkRefusal(t, err)
		return
	}
	for _, r := range s.Rests {
		checkFinite(t, r.ReactionKN, r.MomentKNm, r.HeightMM, r.GapMM)
		if r.GapMM < 0 || !b.TwoWay && r.ReactionKN < 0 || r.Floating && r.ReactionKN != 0 {
			t.Errorf("%+v rests at %+v", b, r)
		}
	}
	sagging, hogging := s.Extremes()
	checkFinite(t, sagging.KNm, sagging.AtM, hogging.KNm, hogging.AtM)
	in, err := s.Influence()
	if err != nil {
		checkRefusal(t, err)
	}
	for i := range in.Height {
		checkFinite(t, in.Height[i]...)
		checkFinite(t, in.Reaction[i]...)
	}
}

func checkFinite(t *testing.T, xs ...float64) {
	t.Helper()
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Errorf("not finite: %v", xs)
		}
	}
}

func checkRefusal(t *testing.T, err error) {
	t.Helper()
	var bad *levelling.InputError
	if !errors.As(err, &bad) || bad.Field == "" || bad.Cure == "" {
		t.Errorf("%v names no field and cure", err)
	}
}

// Spans, sections, supports and raises a million times each other's size are
// reckoned with, as long as the loads press down.
func TestFarApart(t *testing.T) {
	for seed := range uint64(2000) {
		d := roll(seed)
		b := d.wildBearer(1+d.IntN(12), 3)
		for i := range b.Spans {
			b.Spans[i].UDL = math.Abs(b.Spans[i].UDL)
		}
		for i := range b.Loads {
			b.Loads[i].KN = math.Abs(b.Loads[i].KN)
		}
		solve(t, b)
		checkAnswer(t, b)
	}
}
