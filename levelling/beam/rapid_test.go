package beam_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"relevel/levelling/beam"
)

// anyBearer draws a bearer, and shrinks by the number of its spans alone.
func anyBearer(t *rapid.T) beam.Bearer {
	return roll(rapid.Uint64().Draw(t, "seed")).bearer(rapid.IntRange(1, 12).Draw(t, "spans"))
}

func rest(t *rapid.T, b beam.Bearer) *beam.Solution {
	t.Helper()
	s, err := b.Solve()
	if err != nil {
		t.Fatalf("%+v: %v", b, err)
	}
	return s
}

// loadOf is all load, and its moment about the left end.
func loadOf(b beam.Bearer) (sum, moment float64) {
	left := 0.0
	for i, s := range b.Spans {
		sum += s.UDL * s.LengthM
		moment += s.UDL * s.LengthM * (left + s.LengthM/2)
		for _, l := range b.Loads {
			if l.Span == i {
				sum += l.KN
				moment += l.KN * (left + l.AtM)
			}
		}
		left += s.LengthM
	}
	return sum, moment
}

// Reactions are in balance with the load, as a sum and about the left end.
func TestBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBearer(t)
		b.TwoWay = rapid.Bool().Draw(t, "two-way")
		load, moment := loadOf(b)
		sum, about, size, left := 0.0, 0.0, load, 0.0
		for i, r := range rest(t, b).Rests {
			sum += r.ReactionKN
			about += r.ReactionKN * left
			size = max(size, math.Abs(r.ReactionKN))
			if i < len(b.Spans) {
				left += b.Spans[i].LengthM
			}
		}
		if math.Abs(sum-load) > 1e-9*size || math.Abs(about-moment) > 1e-9*size*left {
			t.Errorf("reactions %v about the left end %v, loads %v and %v", sum, about, load, moment)
		}
	})
}

// A support only carries: no pull, no bearer within it, and where there is
// daylight no load. Elastic ones give by their load; joins pass no moment.
func TestComplementary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBearer(t)
		load, _ := loadOf(b)
		s := rest(t, b)
		for i, r := range s.Rests {
			if r.ReactionKN < 0 || r.GapMM < 0 || r.ReactionKN*r.GapMM > 1e-9*load {
				t.Errorf("support %d: %+v", i, r)
			}
			if r.Floating != (r.GapMM > 0) || r.Floating && r.ReactionKN != 0 {
				t.Errorf("support %d: %+v floats", i, r)
			}
			top := b.Supports[i].RaiseMM
			if k := b.Supports[i].Stiffness; k != beam.Rigid {
				top -= r.ReactionKN / k
			}
			if math.Abs(top+r.GapMM-r.HeightMM) > 1e-7 {
				t.Errorf("support %d at %v: %+v", i, top, r)
			}
		}
		for _, at := range append(b.Joins, 0, len(b.Spans)) {
			if r := s.Rests[at]; math.Abs(r.MomentKNm) > 1e-9*load {
				t.Errorf("a moment passes the join at %d: %+v", at, r)
			}
		}
	})
}

// The bearer is the one held both ways by the supports that carry: what floats
// is nothing to it.
func TestCarryingSupportsAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBearer(t)
		b.Joins = nil
		s := rest(t, b)
		var on []int
		for i, r := range s.Rests {
			if !r.Floating {
				on = append(on, i)
			}
		}
		if len(on) < 2 || on[0] != 0 || on[len(on)-1] != len(b.Spans) {
			return // parts beyond the last support cannot be told as a bearer
		}
		for i, r := range s.Rests {
			if r.Floating { // in its place one so soft that it carries nothing
				b.Supports[i] = beam.Support{RaiseMM: r.HeightMM, Stiffness: 1e-12}
			}
		}
		b.TwoWay = true
		again := rest(t, b)
		for i, r := range s.Rests {
			if a := again.Rests[i]; math.Abs(a.ReactionKN-r.ReactionKN) > 1e-7 || math.Abs(a.HeightMM-r.HeightMM) > 1e-6 {
				t.Errorf("support %d: %+v, held both ways %+v", i, r, a)
			}
		}
	})
}

// Held both ways, loads and raises add up.
func TestSuperposition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := anyBearer(t)
		a.TwoWay = true
		loads, raises, both := a, a, a
		loads.Supports = append([]beam.Support(nil), a.Supports...)
		raises.Spans, raises.Loads = append([]beam.Span(nil), a.Spans...), nil
		for i := range loads.Supports {
			loads.Supports[i].RaiseMM = 0
		}
		for i := range raises.Spans {
			raises.Spans[i].UDL = 0
		}
		one, other, sum := rest(t, loads), rest(t, raises), rest(t, both)
		size := 1.0
		for i := range sum.Rests {
			size = max(size, math.Abs(other.Rests[i].ReactionKN))
		}
		for i, r := range sum.Rests {
			if math.Abs(one.Rests[i].ReactionKN+other.Rests[i].ReactionKN-r.ReactionKN) > 1e-9*size ||
				math.Abs(one.Rests[i].HeightMM+other.Rests[i].HeightMM-r.HeightMM) > 1e-8*size {
				t.Errorf("support %d: %+v and %+v make %+v", i, one.Rests[i], other.Rests[i], r)
			}
		}
	})
}

// Maxwell: what j carries for a raise of i is what i carries for one of j. No
// raise changes the load, and raising all alike changes nothing but the height.
func TestInfluence(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBearer(t)
		s := rest(t, b)
		in, err := s.Influence()
		if err != nil {
			t.Fatal(err)
		}
		size := 1e-3 // kN/mm: where joins let all move alone, there is nothing but rounding
		for i := range in.Reaction {
			size = max(size, in.Reaction[i][i])
		}
		for i := range in.Reaction {
			sum, all := 0.0, 0.0
			for j := range in.Reaction {
				sum += in.Reaction[i][j]
				all += in.Height[j][i]
				if math.Abs(in.Reaction[i][j]-in.Reaction[j][i]) > 1e-9*size {
					t.Errorf("%d and %d: %v and %v", i, j, in.Reaction[i][j], in.Reaction[j][i])
				}
			}
			if math.Abs(sum) > 1e-9*size {
				t.Errorf("raising %d makes load: %v", i, sum)
			}
			if math.Abs(all-1) > 1e-6 {
				t.Errorf("raising all by 1 raises %d by %v", i, all)
			}
		}
	})
}

// While nothing comes on or off a small raise does what the influence says.
func TestInfluenceIsTheChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBearer(t)
		i := rapid.IntRange(0, len(b.Spans)).Draw(t, "raised")
		s := rest(t, b)
		steps, err := b.Path(i, 1)
		if err != nil {
			t.Fatal(err)
		}
		mm := steps[0].RaiseMM / 2
		if mm < 1e-3 {
			return
		}
		height, force, err := s.Raise(i)
		if err != nil {
			t.Fatal(err)
		}
		b.Supports = append([]beam.Support(nil), b.Supports...)
		b.Supports[i].RaiseMM += mm
		for j, r := range rest(t, b).Rests {
			before := s.Rests[j]
			if math.Abs(before.HeightMM+mm*height[j]-r.HeightMM) > 1e-6 || math.Abs(before.ReactionKN+mm*force[j]-r.ReactionKN) > 1e-6 {
				t.Errorf("raised %d by %v, %d: %+v and %v, %v make %+v", i, mm, j, before, height[j], force[j], r)
			}
		}
	})
}

// A support that is raised carries more, never less, and on its way each step is
// what the bearer solved there says.
func TestPath(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBearer(t)
		i := rapid.IntRange(0, len(b.Spans)).Draw(t, "raised")
		to := rapid.Float64Range(-80, 80).Draw(t, "to")
		steps, err := b.Path(i, to)
		if err != nil {
			t.Fatal(err)
		}
		last := rest(t, b).Rests[i].ReactionKN
		at := 0.0
		supports := b.Supports
		for _, s := range steps {
			if math.Abs(s.RaiseMM) < math.Abs(at) || (s.ForceKN-last)*to < -1e-6*math.Abs(to) {
				t.Errorf("%v from %v carries %v from %v", s.RaiseMM, at, s.ForceKN, last)
			}
			b.Supports = append([]beam.Support(nil), supports...)
			b.Supports[i].RaiseMM += s.RaiseMM
			if r := rest(t, b).Rests[i]; math.Abs(r.ReactionKN-s.ForceKN) > 1e-5 {
				t.Errorf("step %+v, solved there %+v", s, r)
			}
			at, last = s.RaiseMM, s.ForceKN
		}
		if at != to {
			t.Errorf("ends at %v, want %v", at, to)
		}
	})
}

// The more may be off, the wider the range, and the path as given lies in it.
func TestWatch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBearer(t)
		i := rapid.IntRange(0, len(b.Spans)).Draw(t, "raised")
		to := rapid.Float64Range(1, 80).Draw(t, "to")
		exact, wide := watch(t, b, i, to, 1), watch(t, b, i, to, 2)
		for j, w := range exact {
			if w.To == nil || *w.To-w.From > 1e-6 {
				t.Errorf("nothing is off, and %d comes off from %v to %v", j, w.From, w.To)
			}
			v, ok := wide[j]
			if !ok || v.From > w.From || v.To != nil && *v.To < w.From {
				t.Errorf("%d comes off at %v, not within %+v", j, w.From, v)
			}
		}
	})
}

func watch(t *rapid.T, b beam.Bearer, i int, to, factor float64) map[int]beam.Watch {
	t.Helper()
	list, err := b.Watch(i, to, factor)
	if err != nil {
		t.Fatal(err)
	}
	all := map[int]beam.Watch{}
	for _, w := range list {
		all[w.Support] = w
	}
	return all
}
