package levelling_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"relevel/levelling"
)

// batch is a least-squares adjustment of all observations at once, by dense
// normal equations: slow, plain, and another way round than the filter. A move
// is one more unknown.
type batch struct {
	unknowns int
	rows     []batchRow
}

// batchRow says Σ coefficient·unknown = value, to sd.
type batchRow struct {
	of    map[int]float64
	value float64
	sd    float64
}

func (b *batch) unknown() int { b.unknowns++; return b.unknowns - 1 }

func (b *batch) observe(of map[int]float64, value, sd float64) {
	b.rows = append(b.rows, batchRow{of, value, sd})
}

// solve returns the unknowns and the inverse of the normal matrix.
func (b *batch) solve(t *rapid.T) ([]float64, [][]float64) {
	n := b.unknowns
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, 2*n+1) // normal matrix, right side, identity
		m[i][n+1+i] = 1
	}
	for _, r := range b.rows {
		w := 1 / (r.sd * r.sd)
		for i, ci := range r.of {
			m[i][n] += ci * w * r.value
			for j, cj := range r.of {
				m[i][j] += ci * w * cj
			}
		}
	}
	eliminate(t, m)
	x, inverse := make([]float64, n), make([][]float64, n)
	for i := range m {
		x[i], inverse[i] = m[i][n], m[i][n+1:]
	}
	return x, inverse
}

func eliminate(t *rapid.T, m [][]float64) {
	for k := range m {
		best := k
		for i := k; i < len(m); i++ {
			if math.Abs(m[i][k]) > math.Abs(m[best][k]) {
				best = i
			}
		}
		m[k], m[best] = m[best], m[k]
		if math.Abs(m[k][k]) < 1e-12 {
			t.Fatalf("unknown %d is not determined", k)
		}
		pivot := m[k][k]
		for j := range m[k] {
			m[k][j] /= pivot
		}
		for i := range m {
			if factor := m[i][k]; i != k && factor != 0 {
				for j := range m[i] {
					m[i][j] -= factor * m[k][j]
				}
			}
		}
	}
}

// sum is a height as the batch sees it: its unknown and the moves since.
type sum map[int]float64

func (s sum) plus(o sum, k float64) map[int]float64 {
	out := map[int]float64{}
	for i, c := range s {
		out[i] += c
	}
	for i, c := range o {
		out[i] += k * c
	}
	return out
}

// job draws a random job and feeds it to the filter and to the batch.
type job struct {
	t       *rapid.T
	f       levelling.Filter
	b       batch
	known   []levelling.Unknown
	heights map[levelling.Unknown]sum
}

func newJob(t *rapid.T) *job {
	j := &job{t: t, heights: map[levelling.Unknown]sum{}}
	j.hold(levelling.Height{MM: 437_596, SD: 0.5})
	return j
}

func (j *job) mm(what string) float64 {
	return float64(rapid.IntRange(-4000, 4000).Draw(j.t, what)) / 8
}

func (j *job) sd() float64 { return rapid.SampledFrom([]float64{0.1, 0.5, 1, 2, 5}).Draw(j.t, "sd") }

func (j *job) any(what string) levelling.Unknown { return rapid.SampledFrom(j.known).Draw(j.t, what) }

func (j *job) add(u levelling.Unknown) sum {
	s := sum{j.b.unknown(): 1}
	j.known, j.heights[u] = append(j.known, u), s
	return s
}

func (j *job) hold(h levelling.Height) { j.b.observe(j.add(j.f.Hold(h)), h.MM, h.SD) }

func (j *job) enter() {
	from, by, sd := j.any("from"), j.mm("by"), j.sd()
	before := j.heights[from]
	s := j.add(j.f.Enter(from, by, sd))
	j.b.observe(s.plus(before, -1), by, sd)
}

func (j *job) observe() {
	a, b := j.any("upper"), j.any("lower")
	if a == b {
		return
	}
	mm, sd := j.mm("rise"), j.sd()
	j.f.Observe(a, b, mm, sd)
	j.b.observe(j.heights[a].plus(j.heights[b], -1), mm, sd)
}

func (j *job) move() {
	together := rapid.SliceOfNDistinct(rapid.SampledFrom(j.known), 1, 3, rapid.ID[levelling.Unknown]).Draw(j.t, "together")
	by, sd := j.mm("move"), j.sd()
	j.f.Move(together, by, sd)
	m := sum{j.b.unknown(): 1}
	j.b.observe(m, by, sd)
	for _, u := range together {
		j.heights[u] = j.heights[u].plus(m, 1)
	}
}

func (j *job) drop() {
	if len(j.known) < 2 {
		return
	}
	i := rapid.IntRange(0, len(j.known)-1).Draw(j.t, "dropped")
	j.f.Drop(j.known[i])
	delete(j.heights, j.known[i])
	j.known = append(j.known[:i], j.known[i+1:]...)
}

func (j *job) play() {
	steps := []func(){j.enter, j.enter, j.observe, j.observe, j.observe, j.move, j.drop}
	for range rapid.IntRange(3, 60).Draw(j.t, "steps") {
		steps[rapid.IntRange(0, len(steps)-1).Draw(j.t, "step")]()
	}
}

// The filter's heights, standard deviations and differences are those of an
// adjustment of the same observations and moves at once.
func TestFilterIsBatch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := newJob(t)
		j.play()
		x, inverse := j.b.solve(t)
		evaluate := func(s sum) (h levelling.Height) {
			var variance float64
			for i, ci := range s {
				h.MM += ci * x[i]
				for k, ck := range s {
					variance += ci * inverse[i][k] * ck
				}
			}
			h.SD = math.Sqrt(math.Max(0, variance))
			return h
		}
		near := cmpopts.EquateApprox(0, 2e-5)
		for k, u := range j.known {
			if diff := cmp.Diff(evaluate(j.heights[u]), j.f.Height(u), near); diff != "" {
				t.Errorf("height %d (-batch +filter):\n%s", u, diff)
			}
			other := j.known[k/2]
			between := evaluate(j.heights[u].plus(j.heights[other], -1))
			if diff := cmp.Diff(between, j.f.Between(u, other), near); diff != "" {
				t.Errorf("difference %d − %d (-batch +filter):\n%s", u, other, diff)
			}
		}
	})
}

func TestFilterNeverRaisesAnSD(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := newJob(t)
		j.play()
		before := j.sds()
		for range 10 {
			j.observe()
		}
		for i, sd := range j.sds() {
			if sd > before[i]+1e-12 {
				t.Errorf("unknown %d went from ± %v to ± %v", j.known[i], before[i], sd)
			}
		}
	})
}

func (j *job) sds() []float64 {
	var sds []float64
	for _, u := range j.known {
		sds = append(sds, j.f.Height(u).SD)
	}
	return sds
}

// All standard deviations scaled alike change no height.
func TestFilterScaled(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var plain, scaled levelling.Filter
		k := rapid.SampledFrom([]float64{0.25, 2, 8}).Draw(t, "scale")
		known := []levelling.Unknown{plain.Hold(levelling.Height{MM: 100, SD: 1})}
		scaled.Hold(levelling.Height{MM: 100, SD: k})
		for range rapid.IntRange(1, 30).Draw(t, "steps") {
			a, mm := rapid.SampledFrom(known).Draw(t, "a"), float64(rapid.IntRange(-50, 50).Draw(t, "mm"))
			sd := rapid.SampledFrom([]float64{0.5, 1, 2}).Draw(t, "sd")
			if b := rapid.SampledFrom(known).Draw(t, "b"); b != a && rapid.Bool().Draw(t, "observed again") {
				plain.Observe(a, b, mm, sd)
				scaled.Observe(a, b, mm, float64(k*sd))
				continue
			}
			known = append(known, plain.Enter(a, mm, sd))
			scaled.Enter(a, mm, float64(k*sd))
		}
		for _, u := range known {
			p, s := plain.Height(u), scaled.Height(u)
			if diff := cmp.Diff(levelling.Height{MM: p.MM, SD: k * p.SD}, s, cmpopts.EquateApprox(0, 1e-7)); diff != "" {
				t.Errorf("height %d (-want +got):\n%s", u, diff)
			}
		}
	})
}

// A clone goes its own way.
func TestFilterClone(t *testing.T) {
	var f levelling.Filter
	datum := f.Hold(levelling.Height{})
	a := f.Enter(datum, 10, 1)
	clone := f.Clone()
	f.Observe(a, datum, 12, 1)
	f.Move([]levelling.Unknown{a}, 5, 1)
	f.Drop(datum)
	want := levelling.Height{MM: 10, SD: 1}
	if diff := cmp.Diff(want, clone.Height(a)); diff != "" {
		t.Errorf("the clone (-want +got):\n%s", diff)
	}
	if clone.Len() != 2 || f.Len() != 1 {
		t.Errorf("%d and %d unknowns, want 2 and 1", clone.Len(), f.Len())
	}
}

// Ghilani & Wolf, Adjustment Computations, 4th ed. (2006), Example 12.1 (data
// read in lecture slides, results second-hand, computed), m and mm.
func TestFilterPublishedNetwork(t *testing.T) {
	lines := []struct {
		from, to string
		rise, sd float64
	}{
		{"A", "B", 10509, 6}, {"B", "C", 5360, 4}, {"C", "D", -8523, 5},
		{"D", "A", -7348, 3}, {"B", "D", -3167, 4}, {"A", "C", 15881, 12},
	}
	var f levelling.Filter
	at := map[string]levelling.Unknown{"A": f.Hold(levelling.Height{MM: 437_596})}
	for _, l := range lines {
		if to, known := at[l.to]; known {
			f.Observe(to, at[l.from], l.rise, l.sd)
		} else {
			at[l.to] = f.Enter(at[l.from], l.rise, l.sd)
		}
	}
	for point, want := range map[string]levelling.Height{
		"B": {MM: 448_108.71, SD: 3.52}, "C": {MM: 453_468.47, SD: 4.05}, "D": {MM: 444_943.61, SD: 2.70},
	} {
		if diff := cmp.Diff(want, f.Height(at[point]), cmpopts.EquateApprox(0, 0.006)); diff != "" {
			t.Errorf("%s (-published +got):\n%s", point, diff)
		}
	}
}

// The free sample network published with its output by GNU Gama 1.5 (read,
// computed), mm, 5 mm on every line.
func TestFilterPublishedFreeNetwork(t *testing.T) {
	lines := []struct {
		from, to string
		rise     float64
	}{
		{"1a", "4", -1225}, {"4", "3", -848}, {"3", "2", 1342}, {"2", "1a", 720},
		{"1a", "2", -724}, {"2", "3", -1335}, {"3", "4", 842}, {"4", "1a", 1231},
	}
	var f levelling.Filter
	at := map[string]levelling.Unknown{"1a": f.Hold(levelling.Height{MM: 1_000_000})}
	for _, l := range lines {
		if to, known := at[l.to]; known {
			f.Observe(to, at[l.from], l.rise, 5)
		} else {
			at[l.to] = f.Enter(at[l.from], l.rise, 5)
		}
	}
	for point, want := range map[string]levelling.Height{
		"4": {MM: 998_775.125, SD: 3.06}, "3": {MM: 997_933.250, SD: 3.54}, "2": {MM: 999_274.875, SD: 3.06},
	} {
		if diff := cmp.Diff(want, f.Height(at[point]), cmpopts.EquateApprox(0, 0.005)); diff != "" {
			t.Errorf("%s (-published +got):\n%s", point, diff)
		}
	}
}

// Beyond its limit a filter forgets how heights go together, and never a height.
func TestFilterLimit(t *testing.T) {
	const limit = 8
	f := levelling.Filter{Limit: limit}
	plane := f.Enter(f.Hold(levelling.Height{}), 1000, 1)
	var all []levelling.Unknown
	for i := range 100 {
		all = append(all, f.Enter(plane, -1000-float64(i), 1))
	}
	if f.Len() != 102 {
		t.Errorf("%d unknowns, want 102", f.Len())
	}
	for i, u := range all {
		if got, want := f.Height(u).MM, -float64(i); got != want {
			t.Errorf("unknown %d at %v, want %v", i, got, want)
		}
	}
	f.Observe(all[3], plane, -1005, 1)
	if got := f.Height(all[3]); got.MM >= -3 || got.MM <= -5 || got.SD >= 1.4 {
		t.Errorf("one that rested is at %v after it was observed, want between −3 and −5", got)
	}
	f.Move([]levelling.Unknown{all[50], all[51]}, 4, 1)
	if got := f.Between(all[51], all[50]); got.MM != -1 {
		t.Errorf("two that rested and moved as one are %v apart, want −1", got.MM)
	}
	for _, u := range all {
		f.Drop(u)
	}
	if f.Len() != 2 {
		t.Errorf("%d unknowns after dropping all but two", f.Len())
	}
}

// What all hang on drops out between them: a datum of ± 3 and a plane of ± 1,
// but not the second plane, which only one of three hangs on.
func TestFilterShared(t *testing.T) {
	f := levelling.Filter{Limit: 8}
	datum := f.Hold(levelling.Height{SD: 3})
	plane := f.Enter(datum, 1000, 1)
	other := f.Enter(datum, 1200, 1)
	a, b, c := f.Enter(plane, -1000, 1), f.Enter(plane, -1010, 2), f.Enter(other, -1200, 1)
	for _, tt := range []struct {
		of   []levelling.Unknown
		want float64
	}{{nil, 0}, {[]levelling.Unknown{a}, 0}, {[]levelling.Unknown{a, b}, 10}, {[]levelling.Unknown{a, b, c}, 9}} {
		if got := f.Shared(tt.of); got != tt.want {
			t.Errorf("%v share %v, want %v", tt.of, got, tt.want)
		}
	}
	for range 8 {
		f.Enter(plane, -1000, 1)
	}
	if got := f.Shared([]levelling.Unknown{a, b}); got != 0 {
		t.Errorf("two that rest share %v", got)
	}
}

// Asking for differences changes nothing, also where the unknowns rest: a job
// that was looked at must go on as one that was not.
func TestFilterLookingChangesNothing(t *testing.T) {
	const limit = 8
	f := levelling.Filter{Limit: limit}
	plane := f.Enter(f.Hold(levelling.Height{SD: 1}), 1000, 1)
	var all []levelling.Unknown
	for i := range 3 * limit {
		all = append(all, f.Enter(plane, -1000-float64(i), 1))
	}
	seen := f.Clone()
	for _, u := range all {
		want := levelling.Height{MM: f.Height(all[0]).MM - f.Height(u).MM}
		if got := seen.Between(all[0], u); got.MM != want.MM || (got.SD == 0) != (u == all[0]) {
			t.Errorf("%d below the first: %v, want %v with its ±", u, got, want.MM)
		}
		seen.Test(u, plane, -1000, 1)
	}
	for _, look := range []*levelling.Filter{&f, &seen} {
		for i := range limit {
			look.Observe(all[i], plane, -1003-float64(i), 1)
		}
	}
	for _, u := range all {
		if got, want := seen.Height(u), f.Height(u); got != want {
			t.Errorf("%d is at %v once it was looked at, else %v", u, got, want)
		}
	}
}
