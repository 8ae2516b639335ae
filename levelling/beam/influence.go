package beam

import "slices"

// Influence is what raising one support by 1 mm does while no other comes on or
// off. A row is a support raised, a column where it is felt.
type Influence struct {
	Height   [][]float64 // mm: by how much the bearer moves, where it floats too
	Reaction [][]float64 // kN/mm: how the reactions change; symmetric
}

// Influence says what raising each support does. Raising one that the bearer
// does not touch does nothing.
func (s *Solution) Influence() (Influence, error) {
	n := len(s.Rests)
	in := Influence{Height: make([][]float64, n), Reaction: make([][]float64, n)}
	p := s.probe()
	for i := range n {
		var err error
		if in.Height[i], in.Reaction[i], err = p.raise(i); err != nil {
			return Influence{}, err
		}
	}
	return in, nil
}

// Raise is one row of the [Influence]: what raising support i does.
func (s *Solution) Raise(i int) (height, reaction []float64, err error) {
	return s.probe().raise(i)
}

// probe answers what small raises do.
type probe struct {
	*frame
	touched []bool
	x       []float64
}

// probe takes the equations of a solution apart, in room of its own. Where what
// the bearer touches would leave it free to turn, as one that is balanced, its
// other supports draw it very weakly.
func (s *Solution) probe() *probe {
	f := *s.frame
	f.system = newBand(2 * len(f.raise))
	p := &probe{frame: &f, touched: s.touched(), x: make([]float64, 2*len(f.raise))}
	weak := 0.0
	if !f.stable(p.touched) {
		weak = f.weak()
	}
	f.factor(p.touched, weak)
	return p
}

// touched says by support whether the bearer lies on it.
func (s *Solution) touched() []bool {
	on := slices.Clone(s.frame.held)
	for i, lifted := range s.frame.lifted {
		on[i] = on[i] && !lifted
	}
	return on
}

func (p *probe) raise(i int) (height, reaction []float64, err error) {
	n := len(p.touched)
	height, reaction = make([]float64, n), make([]float64, n)
	if !p.touched[i] {
		return height, reaction, nil
	}
	p.unit(i, p.x)
	for j := range n {
		height[j] = p.x[2*j+1]
		if p.touched[j] {
			reaction[j] = -p.drop(p.x, j) * (p.unitKN / p.unitMM)
		}
	}
	if !finite(height...) || !finite(reaction...) {
		return nil, nil, errSize
	}
	return height, reaction, nil
}
