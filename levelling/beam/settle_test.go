package beam

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// randomFrame is a bearer of uneven spans on supports that are raised by up to
// so many mm, with joins under some.
func randomFrame(r *rand.Rand, spans int, amount float64) Bearer {
	b := Bearer{Supports: make([]Support, spans+1)}
	for i := range spans {
		b.Spans = append(b.Spans, Span{LengthM: 1 + r.Float64(), EI: 50 + 50*r.Float64(), UDL: 1})
		if i > 0 && r.IntN(6) == 0 {
			b.Joins = append(b.Joins, i)
		}
	}
	for i := range b.Supports {
		b.Supports[i].RaiseMM = amount * r.Float64()
		if r.IntN(3) == 0 {
			b.Supports[i].Stiffness = 0.1 + 5*r.Float64()
		}
	}
	return b
}

// One support at a time comes to the same as many at once, where that ends.
func TestOneByOneAgrees(t *testing.T) {
	ended, not := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 7))
		amount := rapid.SampledFrom([]float64{0, 5, 40, 1000, 1e6}).Draw(t, "amount")
		b := randomFrame(r, rapid.IntRange(1, 30).Draw(t, "spans"), amount)
		quick, slow := newFrame(b), newFrame(b)
		quick.holdAll()
		if !quick.settleAtOnce() {
			not++
			return
		}
		ended++
		if err := slow.settleOneByOne(); err != nil {
			t.Fatal(err)
		}
		for i := range quick.force {
			if math.Abs(quick.force[i]-slow.force[i]) > 1e-8 {
				t.Errorf("support %d carries %v, one by one %v", i, quick.force[i], slow.force[i])
			}
		}
	})
	if ended < 20 || not == 0 {
		t.Errorf("%d ended and %d did not: too few of one sort", ended, not)
	}
}

// What is called stable has as many independent supports as the bearer has ways
// to move without bending: heights at its ends and joins.
func TestStable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 9).Draw(t, "supports")
		f := &frame{hinge: rapid.SliceOfN(rapid.Bool(), n, n).Draw(t, "hinges")}
		f.hinge[0], f.hinge[n-1] = true, true
		held := rapid.SliceOfN(rapid.Bool(), n, n).Draw(t, "held")
		var ends []int
		for i, hinge := range f.hinge {
			if hinge {
				ends = append(ends, i)
			}
		}
		var rows [][]float64
		for i := range n {
			if held[i] {
				rows = append(rows, heightAt(i, ends))
			}
		}
		if got, want := f.stable(held), rank(rows) == len(ends); got != want {
			t.Errorf("hinges %v held %v: stable %v, want %v", f.hinge, held, got, want)
		}
	})
}

// heightAt is the height at a support by the heights of the ends, without
// bending, where supports are 1 apart.
func heightAt(i int, ends []int) []float64 {
	row := make([]float64, len(ends))
	for k := 1; k < len(ends); k++ {
		from, to := ends[k-1], ends[k]
		if i >= from && i <= to {
			clear(row)
			row[k] = float64(i-from) / float64(to-from)
			row[k-1] = 1 - row[k]
		}
	}
	return row
}

// rank is by elimination with the largest element left.
func rank(rows [][]float64) (n int) {
	for n < len(rows) {
		best, col := n, 0
		for i := n; i < len(rows); i++ {
			for j := range rows[i] {
				if math.Abs(rows[i][j]) > math.Abs(rows[best][col]) {
					best, col = i, j
				}
			}
		}
		rows[n], rows[best] = rows[best], rows[n]
		if math.Abs(rows[n][col]) < 1e-9 {
			return n
		}
		for i := n + 1; i < len(rows); i++ {
			by := rows[i][col] / rows[n][col]
			for j := range rows[i] {
				rows[i][j] -= by * rows[n][j]
			}
		}
		n++
	}
	return n
}

// A bearer of a thousand spans, on a third of which it bears or less, is no
// matter of minutes.
func TestLongBearer(t *testing.T) {
	for _, amount := range []float64{1, 100, 1e5} {
		b := randomFrame(rand.New(rand.NewPCG(1000, 1)), 1000, amount)
		s, err := b.Solve()
		if err != nil {
			t.Fatal(err)
		}
		sum, load := 0.0, 0.0
		for _, r := range s.Rests {
			sum += r.ReactionKN
		}
		for _, span := range b.Spans {
			load += span.UDL * span.LengthM
		}
		if math.Abs(sum-load) > 1e-9*load {
			t.Errorf("raised by up to %v it carries %v of %v", amount, sum, load)
		}
	}
}

// Rows are exchanged where the diagonal has nothing.
func TestBand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 9))
		m := newBand(n)
		full := make([][]float64, n)
		want, x := make([]float64, n), make([]float64, n)
		for i := range full {
			full[i] = make([]float64, n)
			want[i] = r.NormFloat64()
		}
		for i := range full {
			for j := max(0, i-below); j <= min(n-1, i+above); j++ {
				if i == j && r.IntN(2) == 0 {
					continue
				}
				full[i][j] = r.NormFloat64()
				m.set(i, j, full[i][j])
			}
			for j := range full {
				x[i] += full[i][j] * want[j]
			}
		}
		if rank(full) < n {
			return
		}
		if !m.factor() {
			t.Fatal("not solved")
		}
		m.solve(x)
		for i := range x {
			if math.Abs(x[i]-want[i]) > 1e-4 {
				t.Errorf("unknown %d is %v, want %v", i, x[i], want[i])
			}
		}
	})
}
