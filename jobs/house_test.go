package jobs_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"relevel/events"
)

// house is a floor that answers as a real one might, and not as the program
// supposes: its bearers are stiffer or softer than their section says, joists
// tie them to each other across, stumps give under load and spring back, and a
// packer beds in. It is a frame of beam elements (w, θ along the bearer, φ along
// the joists at each support) on one-way springs, solved whole after each step.
type house struct {
	bearers, along int
	ei, joist      float64   // kN·m²
	load           float64   // kN per metre of bearer
	ground, jack   float64   // kN per metre of sinking: a stump, a jack
	raise          []float64 // of what carries each support, m above as found
	jacked         []bool    // by a jack
	sunk           []float64 // as found, mm below the highest
	at, rest       []float64 // m above as found: now, and before anything was done
	bedding        func() float64
	noise          *rand.Rand
}

const spanM, bayM = 1.8, 1.7

// newHouse is a floor of four bearers on six supports each.
func newHouse(seed uint64, stiffer float64) *house {
	h := &house{bearers: 4, along: 6, ei: 88 * stiffer, joist: 30, load: 0.9, ground: 2e3, jack: 60e3, noise: rand.New(rand.NewPCG(seed, 11))}
	n := h.bearers * h.along
	h.raise, h.jacked = make([]float64, n), make([]bool, n)
	h.bedding = func() float64 { return 2.4 + 0.5*h.noise.NormFloat64() }
	for i := range n {
		x, y := float64(i%h.along)/float64(h.along-1), float64(i/h.along)/float64(h.bearers-1)
		bowl := 22 * (1 - (2*x-1)*(2*x-1)) * (0.5 + y/2)
		h.sunk = append(h.sunk, math.Round(bowl+2*h.noise.Float64()))
	}
	h.settle()
	h.rest = h.at
	return h
}

func (h *house) name(i int) string { return fmt.Sprintf("B%d-%d", i/h.along+1, i%h.along+1) }

// height is that of the bearer's underside at a support now, mm.
func (h *house) height(i int) float64 { return 1000*(h.at[i]-h.rest[i]) - h.sunk[i] }

// plan draws the house; with sections, the program knows what it is to suppose.
func (h *house) plan(sections bool) events.Plan {
	p := events.Plan{Datums: []events.Datum{{ID: "D1", X: -2, Height: mm(0), OffBuilding: true}, {ID: "D2", X: 12, Height: mm(120)}}}
	for b := range h.bearers {
		bearer := events.Bearer{ID: fmt.Sprintf("B%d", b+1)}
		if sections {
			bearer.WidthMM, bearer.DepthMM, bearer.EMPa = 100, 100, 10500
		}
		for i := range h.along {
			id := h.name(b*h.along + i)
			p.Supports = append(p.Supports, events.Support{ID: id, X: float64(i) * spanM, Y: float64(b) * bayM})
			bearer.Supports = append(bearer.Supports, id)
		}
		p.Bearers = append(p.Bearers, bearer)
	}
	p.Loads = &events.Loads{FloorDeadKPa: 0.5}
	return p
}

// settle finds where the floor lies on what carries it now: one support after
// another is let go or taken on until none pulls and none is passed through.
func (h *house) settle() {
	n := h.bearers * h.along
	on := make([]bool, n)
	for i := range on {
		on[i] = true
	}
	for range 20 * n {
		w := h.solve(on)
		worst, by := -1, 1e-9
		for i := range n {
			switch push := h.raise[i] - w[3*i]; {
			case on[i] && -push > by:
				worst, by = i, -push
			case !on[i] && push > by:
				worst, by = i, push
			}
		}
		if worst < 0 {
			h.at = nil
			for i := range n {
				h.at = append(h.at, w[3*i])
			}
			return
		}
		on[worst] = !on[worst]
	}
	panic("the floor does not settle")
}

// solve returns w, θ and φ of every support, carried by those that are on.
func (h *house) solve(on []bool) []float64 {
	n := 3 * h.bearers * h.along
	k, f := make([][]float64, n), make([]float64, n)
	for i := range k {
		k[i] = make([]float64, n)
	}
	for i := range h.bearers * h.along {
		if (i+1)%h.along != 0 {
			beamElement(k, h.ei, spanM, [4]int{3 * i, 3*i + 1, 3 * (i + 1), 3*(i+1) + 1})
			press(f, h.load, [4]int{3 * i, 3*i + 1, 3 * (i + 1), 3*(i+1) + 1})
		}
		if other := i + h.along; other < h.bearers*h.along {
			beamElement(k, h.joist, bayM, [4]int{3 * i, 3*i + 2, 3 * other, 3*other + 2})
		}
		spring := h.ground
		if h.jacked[i] {
			spring = h.jack
		}
		if on[i] {
			k[3*i][3*i] += spring
			f[3*i] += spring * h.raise[i]
		}
		k[3*i+2][3*i+2] += 1e-6 // a joist line of one support would turn freely
	}
	return eliminate(k, f)
}

func beamElement(k [][]float64, ei, l float64, dof [4]int) {
	c := ei / (l * l * l)
	m := [4][4]float64{{12, 6 * l, -12, 6 * l}, {6 * l, 4 * l * l, -6 * l, 2 * l * l}, {-12, -6 * l, 12, -6 * l}, {6 * l, 2 * l * l, -6 * l, 4 * l * l}}
	for a := range 4 {
		for b := range 4 {
			k[dof[a]][dof[b]] += c * m[a][b]
		}
	}
}

func press(f []float64, q float64, dof [4]int) {
	f[dof[0]] -= q * spanM / 2
	f[dof[1]] -= q * spanM * spanM / 12
	f[dof[2]] -= q * spanM / 2
	f[dof[3]] += q * spanM * spanM / 12
}

// eliminate solves k x = f for a positive definite k, which it spoils.
func eliminate(k [][]float64, f []float64) []float64 {
	n := len(f)
	for i := range n {
		for r := i + 1; r < n; r++ {
			if k[r][i] == 0 {
				continue
			}
			m := k[r][i] / k[i][i]
			for c := i; c < n; c++ {
				k[r][c] -= m * k[i][c]
			}
			f[r] -= m * f[i]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for c := i + 1; c < n; c++ {
			f[i] -= k[i][c] * f[c]
		}
		f[i] /= k[i][i]
	}
	return f
}

// lift pumps the jack at a support until the bearer there is at a height, mm.
func (h *house) lift(i int, to float64) {
	h.jacked[i] = true
	for range 60 {
		off := (to - h.height(i)) / 1000
		if math.Abs(off) < 1e-6 {
			return
		}
		h.raise[i] = math.Max(h.raise[i], h.at[i]) + off*1.02
		h.settle()
	}
}

// letDown lets the jack down onto a packer that was driven in at this height.
func (h *house) letDown(i int) {
	h.jacked[i] = false
	h.raise[i] = h.at[i] - h.bedding()/1000
	h.settle()
}

func TestHouseStands(t *testing.T) {
	h := newHouse(1, 1)
	for i := range h.at {
		if math.Abs(h.height(i)+h.sunk[i]) > 1e-9 {
			t.Fatalf("%s stands at %g before anything was done", h.name(i), h.height(i))
		}
	}
	before := h.height(8)
	h.lift(8, before+5)
	if by := h.height(8) - before; math.Abs(by-5) > 0.01 {
		t.Errorf("lifted by %g, want 5", by)
	}
	if by := h.height(7) + h.sunk[7]; by < 0 || by > 5 {
		t.Errorf("its neighbour moved by %g", by)
	}
	h.letDown(8)
	if lost := before + 5 - h.height(8); lost < 0.5 || lost > 5 {
		t.Errorf("bedded in by %g", lost)
	}
}
