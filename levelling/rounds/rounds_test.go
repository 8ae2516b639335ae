package rounds_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"relevel/levelling"
	"relevel/levelling/rounds"
)

const rounding = 0.0011

// replay follows a plan move by move and reports the first rule that is broken.
func replay(t testing.TB, f rounds.Floor, p rounds.Plan) (at []float64) {
	t.Helper()
	for _, s := range f.Supports {
		at = append(at, s.Done)
	}
	days := map[[2]int]float64{}
	for k, r := range p.Rounds {
		seen := map[int]bool{}
		for i := 0; i < len(r.Moves); {
			j := i
			for j < len(r.Moves) && r.Moves[j].Batch == r.Moves[i].Batch {
				j++
			}
			batch := r.Moves[i:j]
			i = j
			for _, m := range batch {
				if seen[m.Support] {
					t.Fatalf("round %d moves %d twice", k, m.Support)
				}
				seen[m.Support] = true
				if f.Supports[m.Support].Blocked {
					t.Fatalf("round %d moves %d, which is blocked", k, m.Support)
				}
				if math.Abs(m.By) > f.Step+1e-9 || m.By == 0 {
					t.Fatalf("round %d moves %d by %g, a step is %g", k, m.Support, m.By, f.Step)
				}
				if days[[2]int{m.Support, r.Day}] += math.Abs(m.By); f.Daily > 0 && r.Day > 0 && days[[2]int{m.Support, r.Day}] > f.Daily+rounding {
					t.Fatalf("day %d moves %d by %g, a day has %g", r.Day, m.Support, days[[2]int{m.Support, r.Day}], f.Daily)
				}
			}
			pump(t, f, at, batch)
		}
	}
	return at
}

// pump makes the moves of one batch, and checks the limits after each in both
// orders: forward and backward. Groups move as one.
func pump(t testing.TB, f rounds.Floor, at []float64, batch []rounds.Move) {
	t.Helper()
	group := f.Supports[batch[0].Support].Group
	if group != 0 || len(batch) == 1 {
		before := slices.Clone(at)
		for _, m := range batch {
			at[m.Support] += m.By
		}
		limits(t, f, before, at)
		return
	}
	if f.Jacks < len(batch) {
		t.Fatalf("%d moved together, with %d jacks", len(batch), f.Jacks)
	}
	for _, order := range [][]rounds.Move{backward(batch), batch} {
		now := slices.Clone(at)
		for _, m := range order {
			before := slices.Clone(now)
			now[m.Support] += m.By
			limits(t, f, before, now)
		}
	}
	for _, m := range batch {
		at[m.Support] += m.By
	}
}

func backward(batch []rounds.Move) []rounds.Move {
	b := slices.Clone(batch)
	slices.Reverse(b)
	return b
}

func limits(t testing.TB, f rounds.Floor, before, at []float64) {
	t.Helper()
	for _, n := range f.Pairs {
		most := max(n.Limit, math.Abs(f.Supports[n.A].Lift-f.Supports[n.B].Lift))
		was, is := math.Abs(before[n.A]-before[n.B]), math.Abs(at[n.A]-at[n.B])
		if is > max(most, was)+rounding {
			t.Fatalf("%d and %d differ by %g, and may by %g (%g before)", n.A, n.B, is, most, was)
		}
	}
}

// dice makes a floor of up to four bearers with neighbours along and across.
func dice(r *rand.Rand) rounds.Floor {
	bearers, along := 1+r.IntN(4), 1+r.IntN(8)
	f := rounds.Floor{Step: 0.5 + 6*r.Float64(), Jacks: r.IntN(4)}
	limit := 0.3 + 6*r.Float64()
	for range bearers * along {
		s := rounds.Support{Lift: math.Round(40 * r.Float64())}
		if r.IntN(6) == 0 {
			s.Lift = -s.Lift / 3
		}
		if r.IntN(4) == 0 {
			s.Done = s.Lift * r.Float64() * 1.2
		}
		s.Blocked = r.IntN(20) == 0
		f.Supports = append(f.Supports, s)
	}
	if r.IntN(3) == 0 {
		f.Daily = 4 + 10*r.Float64()
	}
	for i := range bearers * along {
		if (i+1)%along != 0 {
			f.Pairs = append(f.Pairs, rounds.Pair{A: i, B: i + 1, Limit: limit * (0.5 + r.Float64())})
		}
		if i+along < bearers*along {
			f.Pairs = append(f.Pairs, rounds.Pair{A: i + along, B: i, Limit: limit})
		}
	}
	return f
}

// On random floors, with what is blocked, off plan and limited by the day, no
// rule is ever broken, and whoever does not arrive waits for one that is blocked.
func TestNoLimitIsBroken(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := range 600 {
		f := dice(r)
		p, err := f.Plan()
		if err != nil {
			t.Fatalf("floor %d: %v", n, err)
		}
		at := replay(t, f, p)
		waits := map[int]bool{}
		for _, w := range p.Waits {
			waits[w.Support] = true
			if !f.Supports[w.On].Blocked {
				t.Fatalf("floor %d: %d waits for %d, which is not blocked", n, w.Support, w.On)
			}
		}
		for i, s := range f.Supports {
			if off := math.Abs(at[i] - s.Lift); off > rounding && !waits[i] {
				t.Fatalf("floor %d: %d is off its lift by %g and nothing says why", n, i, off)
			}
		}
	}
}

// What is planned of the first round alone is what the whole plan begins with.
func TestFirstRoundAlone(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	later := 0
	for n := range 300 {
		f := dice(r)
		for i := range f.Supports {
			f.Supports[i].Moved = r.IntN(3) == 0
			f.Supports[i].Today = float64(r.IntN(2)) * f.Daily
		}
		whole, err := f.Plan()
		first, also := f.First()
		if err != nil || also != nil {
			t.Fatalf("floor %d: %v, %v", n, err, also)
		}
		if len(whole.Rounds) == 0 {
			whole.Rounds = []rounds.Round{{}}
		}
		if !reflect.DeepEqual(first, whole.Rounds[0]) {
			t.Fatalf("floor %d: alone %+v, in the plan %+v", n, first, whole.Rounds[0])
		}
		if first.Day > 0 {
			later++
		}
	}
	if later == 0 {
		t.Error("no floor waited for another day")
	}
}

// fewest searches all plans in whole millimetres: breadth first by rounds,
// within a round every order and every size of move.
func fewest(f rounds.Floor) int {
	n := len(f.Supports)
	start, end := "", ""
	for _, s := range f.Supports {
		start, end = start+string(rune(0)), end+string(rune(int(s.Lift)))
	}
	within := func(at []rune) bool {
		for _, p := range f.Pairs {
			most := max(p.Limit, math.Abs(f.Supports[p.A].Lift-f.Supports[p.B].Lift))
			if math.Abs(float64(at[p.A]-at[p.B])) > most {
				return false
			}
		}
		return true
	}
	level := map[string]bool{start: true}
	for count := 0; ; count++ {
		if level[end] {
			return count
		}
		next := map[string]bool{}
		seen := map[string]bool{}
		var visit func(at string, moved int)
		visit = func(at string, moved int) {
			key := at + string(rune(1000+moved))
			if seen[key] {
				return
			}
			seen[key], next[at] = true, true
			for i := range n {
				if moved&(1<<i) != 0 {
					continue
				}
				to := []rune(at)
				for by := 1; by <= int(f.Step) && int(to[i]) < int(f.Supports[i].Lift); by++ {
					to[i]++
					if within(to) {
						visit(string(to), moved|1<<i)
					}
				}
			}
		}
		for at := range level {
			visit(at, 0)
		}
		level = next
	}
}

// Against an exhaustive search over moves in whole millimetres on up to five
// supports, a plan is longer by one round at most.
func TestFewRounds(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	same, more := 0, 0
	for n := range 400 {
		count := 2 + r.IntN(3)
		if n%20 == 0 {
			count = 5
		}
		f := rounds.Floor{Step: float64(1 + r.IntN(3))}
		limit := float64(1 + r.IntN(3))
		for range count {
			f.Supports = append(f.Supports, rounds.Support{Lift: float64(r.IntN(7))})
		}
		for i := range count {
			for j := range i {
				if j == i-1 || r.IntN(4) == 0 {
					f.Pairs = append(f.Pairs, rounds.Pair{A: j, B: i, Limit: limit})
				}
			}
		}
		p, err := f.Plan()
		if err != nil {
			t.Fatal(err)
		}
		replay(t, f, p)
		switch best := fewest(f); {
		case len(p.Rounds) <= best:
			same++
		case len(p.Rounds) == best+1:
			more++
		default:
			t.Errorf("%d rounds, and %d are enough: %+v", len(p.Rounds), best, f)
		}
	}
	t.Logf("as few as can be %d times, one more %d times", same, more)
}

// Both ends of a butted join go in one move, each by its own.
func TestGroup(t *testing.T) {
	f := rounds.Floor{Step: 3, Supports: []rounds.Support{{Lift: 9}, {Lift: 8, Group: 1}, {Lift: 7, Group: 1}, {Lift: 9}},
		Pairs: []rounds.Pair{{A: 0, B: 1, Limit: 3}, {A: 1, B: 2, Limit: 0}, {A: 2, B: 3, Limit: 3}}}
	p, err := f.Plan()
	if err != nil {
		t.Fatal(err)
	}
	at := replay(t, f, p)
	if at[1] != 8 || at[2] != 7 {
		t.Errorf("they end at %g and %g", at[1], at[2])
	}
	for _, r := range p.Rounds {
		batch := map[int]int{}
		for _, m := range r.Moves {
			batch[m.Support] = m.Batch + 1
		}
		if batch[1] != 0 && batch[2] != 0 && batch[1] != batch[2] {
			t.Errorf("moved apart: %+v", r)
		}
	}
}

// Four jacks on a row of eight whose limits allow it: two pumpings a round.
func TestJacks(t *testing.T) {
	f := rounds.Floor{Step: 2, Jacks: 4}
	for i := range 8 {
		f.Supports = append(f.Supports, rounds.Support{Lift: 10})
		if i > 0 {
			f.Pairs = append(f.Pairs, rounds.Pair{A: i - 1, B: i, Limit: 2})
		}
	}
	p, err := f.Plan()
	if err != nil {
		t.Fatal(err)
	}
	replay(t, f, p)
	if n := len(p.Rounds); n != 5 {
		t.Errorf("%d rounds, want 5", n)
	}
	for _, r := range p.Rounds {
		if last := r.Moves[len(r.Moves)-1].Batch; last != 1 {
			t.Errorf("%d pumpings in a round, want 2", last+1)
		}
	}
}

// A plan from the middle of a round leaves alone who was moved in it, until the
// others are done.
func TestRoundUnderWay(t *testing.T) {
	f := rounds.Floor{Step: 3, Supports: []rounds.Support{{Lift: 9, Done: 3, Moved: true}, {Lift: 9}}, Pairs: []rounds.Pair{{A: 0, B: 1, Limit: 6}}}
	p, err := f.Plan()
	if err != nil {
		t.Fatal(err)
	}
	if first := p.Rounds[0].Moves; len(first) != 1 || first[0].Support != 1 || len(p.Rounds) != 3 {
		t.Errorf("%+v", p.Rounds)
	}
	f.Supports[1] = rounds.Support{Lift: 9, Done: 3, Moved: true}
	if p, err = f.Plan(); err != nil || len(p.Rounds) != 2 || len(p.Rounds[0].Moves) != 2 {
		t.Errorf("once all are moved: %+v, %v", p.Rounds, err)
	}
}

func TestDaily(t *testing.T) {
	f := rounds.Floor{Step: 3, Daily: 5, Supports: []rounds.Support{{Lift: 12, Today: 4}}}
	p, err := f.Plan()
	if err != nil {
		t.Fatal(err)
	}
	var days []int
	for _, r := range p.Rounds {
		days = append(days, r.Day)
	}
	if want := []int{0, 1, 1, 2, 2, 3}; !slices.Equal(days, want) {
		t.Errorf("days %v, want %v", days, want)
	}
}

// One that is tied down stops its neighbours where the limit ends, and is named.
func TestWaits(t *testing.T) {
	f := rounds.Floor{Step: 3, Supports: []rounds.Support{{Lift: 10}, {Lift: 10}, {Lift: 10, Blocked: true}},
		Pairs: []rounds.Pair{{A: 0, B: 1, Limit: 2}, {A: 1, B: 2, Limit: 2}}}
	p, err := f.Plan()
	if err != nil {
		t.Fatal(err)
	}
	want := []rounds.Wait{{Support: 0, On: 2, Left: 6}, {Support: 1, On: 2, Left: 8}, {Support: 2, On: 2, Left: 10}}
	if !slices.Equal(p.Waits, want) {
		t.Errorf("%+v, want %+v", p.Waits, want)
	}
}

func TestBadFloors(t *testing.T) {
	two := []rounds.Support{{Lift: 5}, {Lift: 5}}
	for _, tt := range []struct {
		name  string
		f     rounds.Floor
		field string
	}{
		{"NoStep", rounds.Floor{Supports: two}, "step_mm"},
		{"StepNaN", rounds.Floor{Supports: two, Step: math.NaN()}, "step_mm"},
		{"TooSmallAStep", rounds.Floor{Supports: []rounds.Support{{Lift: 1e9}}, Step: 0.001}, "step_mm"},
		{"LiftInf", rounds.Floor{Supports: []rounds.Support{{Lift: math.Inf(1)}}, Step: 1}, "supports[0].lift_mm"},
		{"NoWay", rounds.Floor{Supports: two, Step: 1, Pairs: []rounds.Pair{{A: 0, B: 1}}}, "limit"},
		{"Itself", rounds.Floor{Supports: two, Step: 1, Pairs: []rounds.Pair{{A: 1, B: 1, Limit: 1}}}, "neighbours[0]"},
		{"Nobody", rounds.Floor{Supports: two, Step: 1, Pairs: []rounds.Pair{{A: 1, B: 2, Limit: 1}}}, "neighbours[0]"},
		{"Daily", rounds.Floor{Supports: two, Step: 1, Daily: -1}, "daily_mm"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := tt.f.Plan()
			var bad *levelling.InputError
			if !errors.As(err, &bad) || bad.Field != tt.field {
				t.Errorf("got %v, want an InputError on %s", err, tt.field)
			}
		})
	}
}
