package beam_test

import (
	"math/rand/v2"

	"relevel/levelling/beam"
)

// dice draws bearers from one generator in a fixed order, so that they are the
// same everywhere.
type dice struct{ *rand.Rand }

func roll(number uint64) dice { return dice{rand.New(rand.NewPCG(number, 41))} }

func (d dice) between(low, high float64) float64 { return low + float64(d.Float64()*(high-low)) }

// bearer draws one of a few spans: unequal, of uneven stiffness and load, raised
// and dropped, some on elastic supports, some with joins and point loads.
func (d dice) bearer(spans int) beam.Bearer {
	b := beam.Bearer{Supports: make([]beam.Support, spans+1)}
	amount := []float64{2, 15, 60, 500}[d.IntN(4)]
	for i := range b.Supports {
		b.Supports[i].RaiseMM = d.between(-amount, amount)
		if d.IntN(3) == 0 {
			b.Supports[i].Stiffness = d.between(0.2, 8)
		}
	}
	for i := range spans {
		b.Spans = append(b.Spans, beam.Span{LengthM: d.between(0.9, 3), EI: d.between(30, 250), UDL: d.between(0, 4)})
		if d.IntN(3) == 0 {
			b.Loads = append(b.Loads, beam.PointLoad{Span: i, AtM: d.Float64() * b.Spans[i].LengthM, KN: d.between(0, 6)})
		}
		if i > 0 && d.IntN(5) == 0 {
			b.Joins = append(b.Joins, i)
		}
	}
	return b
}
