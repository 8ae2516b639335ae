package underfloor_test

import (
	"errors"
	"math/rand/v2"
	"testing"

	"relevel/levelling"
	"relevel/levelling/bitstest"
	"relevel/levelling/underfloor"
)

// outcome is all that is reckoned around a support, or the field and cure of the
// first error.
type outcome struct {
	Packer  underfloor.Packer
	Broken  []string
	Crushed string
	LossMM  float64
	Sums    underfloor.Sums
	Pad     underfloor.PadSize
	Vents   underfloor.Vents
	Push    underfloor.Push
	Edges   underfloor.CutEdges
	Class   int
	Bad     *levelling.InputError
}

// The figures around a support are the same to the last bit on every kind of
// machine: a flag and a packer hang on them.
func TestBits(t *testing.T) {
	bitstest.Same(t, "testdata/bits.txt", "supports", 1000, func(number uint64) any {
		d := dice{rand.New(rand.NewPCG(number, 8))}
		out, err := d.support()
		errors.As(err, &out.Bad)
		return out
	})
}

// dice draws inputs in a fixed order, so that they are the same everywhere.
type dice struct{ *rand.Rand }

func (d dice) between(low, high float64) float64 { return low + float64(d.Float64()*(high-low)) }

func (d dice) support() (out outcome, err error) {
	keep := func(e error) {
		if err == nil {
			err = e
		}
	}
	for _, part := range []func(*outcome) error{d.packing, d.carrying, d.opening} {
		keep(part(&out))
	}
	return out, err
}

// packing plays a packer, what it breaks, what presses on it and what it loses.
func (d dice) packing(out *outcome) error {
	s := underfloor.Stock{MaxPieces: 1 + d.IntN(4), WithinMM: d.between(0, 2)}
	for range 1 + d.IntN(6) {
		s.SizesMM = append(s.SizesMM, d.size())
	}
	packer, refused := s.Packer(d.between(0, 150), d.between(0, 3))
	out.Packer = packer
	for _, rule := range underfloor.PackingRules() {
		out.Broken = append(out.Broken, rule.Breaks(packer.PiecesMM, d.IntN(2) == 0))
	}
	layers, species := underfloor.Layers(), underfloor.Species()
	out.Crushed = underfloor.Crushing(d.between(1, 60), d.between(45, 120), d.between(45, 200), []string{layers[d.IntN(len(layers))].Material})
	loss, _, err := underfloor.Shrinkage(packer.SumMM, species[d.IntN(len(species))], underfloor.Radial, d.between(5, 45), d.between(5, 45))
	out.LossMM = loss
	if refused != nil {
		return refused
	}
	return err
}

// size is a thickness in mm or in sixteenths of an inch, seldom with all its
// digits.
func (d dice) size() float64 {
	switch d.IntN(20) {
	case 0:
		return d.between(1, 60)
	case 1, 2, 3, 4:
		return 1.5875 * float64(1+d.IntN(32))
	}
	return float64(1 + d.IntN(60))
}

// carrying plays loads, a pad for them, and the jack that lifts them.
func (d dice) carrying(out *outcome) (err error) {
	spread := func() underfloor.Spread {
		return underfloor.Spread{AreaM2: d.between(0, 9), DeadKPa: d.between(0, 2), LiveKPa: d.between(0, 3)}
	}
	roof := spread()
	loads := underfloor.Loads{Floor: spread(), Roof: &roof, Continuity: d.between(1, 1.3), JackLive: d.between(0, 1)}
	for range d.IntN(3) {
		loads.Walls = append(loads.Walls, underfloor.Wall{RunM: d.between(0, 3), HeightM: d.between(2, 3), DeadKPa: d.between(0.2, 2)})
	}
	if out.Sums, err = loads.Sum(); err != nil {
		return err
	}
	thick, weight := d.between(100, 500), d.between(22, 25)
	if out.Pad, err = (underfloor.Pad{LoadKN: out.Sums.Design, SoilKPa: d.between(5, 200), ThicknessMM: &thick, ConcreteKN: &weight}).Size(); err != nil {
		return err
	}
	rated := d.between(20, 100)
	out.Push, err = underfloor.Jack{BoreMM: d.between(20, 80), PressureMPa: d.between(0, 70), RatedKN: &rated}.Push()
	return err
}

// opening plays a floor cut, a crack and the air below.
func (d dice) opening(out *outcome) (err error) {
	if out.Class, err = underfloor.CrackClass(d.between(0, 40)); err != nil {
		return err
	}
	rules := []underfloor.VentRule{underfloor.NCC2022, underfloor.NZE2, underfloor.IRC, underfloor.UKC}
	a := underfloor.Airing{
		Rule: rules[d.IntN(4)], Zone: []string{"A", "B", "C"}[d.IntN(3)], Sealed: d.IntN(2) == 0,
		WallM: d.between(10, 80), FloorM2: d.between(20, 300), VentsMM2: []float64{d.between(0, 9e4), d.between(0, 9e4)},
	}
	if out.Vents, err = a.Vents(); err != nil {
		return err
	}
	cut := underfloor.FloorCut{Board: d.between(12, 32), Joist: d.between(35, 75), Kerf: d.between(1, 4), OffCentre: d.between(-50, 50)}
	out.Edges, err = cut.Edges()
	return err
}
