package jobs_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// limited is agreed with a step and a neighbour limit.
func limited(t *testing.T) (*site, events.ID) {
	s, u := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", StepMM: 5, NeighbourMM: 6, Tolerance: events.Tolerance{WithinMM: 1}})
	return s, u
}

func moves(r *jobs.Rounds) (names []string) {
	for _, m := range r.Moves {
		names = append(names, m.Support)
	}
	return names
}

// No step and no limit, no plan: there is no published rate to fall back on.
func TestRoundsAsk(t *testing.T) {
	s, _ := agreed(t)
	r := s.picture().Rounds
	if len(r.Ask) != 2 || r.Left != 0 || r.Moves != nil {
		t.Errorf("%+v", r)
	}
	if v := s.support("B1-3"); v.NextKind != events.KindJacking {
		t.Errorf("and still a lift can be seen and recorded: %q", v.Next)
	}
}

// 0, −12, −20 and −5 up to the highest, five at a time.
func TestRounds(t *testing.T) {
	s, u := limited(t)
	r := s.picture().Rounds
	if r.Left != 4 || !slices.Equal(moves(r), []string{"B1-2", "B1-3", "B1-4"}) || len(r.Later) != 3 {
		t.Fatalf("%d rounds, the first moves %v", r.Left, moves(r))
	}
	if m := r.Moves[1]; m.ByMM != 5 || m.Stop == nil || m.Stop.StaffMM != 1015 {
		t.Errorf("%+v, %+v", m, m.Stop)
	}
	s.jack("B1-3", 5)
	s.read(u, "B1-3", 1015)
	if v := s.support("B1-3"); v.NextSort != events.Temporary || !strings.HasPrefix(v.Next, "Pack under it meanwhile") {
		t.Errorf("moved in this round, next is %q", v.Next)
	}
	s.pack("B1-3", events.Temporary, 20)
	if v := s.support("B1-3"); v.Next != "Wait: B1-2 first" || v.Stop != nil {
		t.Errorf("packed, next is %q", v.Next)
	}
	s.read(u, "B1-2", 1012)
	s.jack("B1-2", 5)
	s.read(u, "B1-2", 1007)
	s.read(u, "B1-4", 1005)
	s.jack("B1-4", 5)
	s.read(u, "B1-4", 1000)
	if v := s.support("B1-4"); v.NextSort != events.Temporary {
		t.Errorf("at its height while others rise, next is %q", v.Next)
	}
	if r := s.picture().Rounds; r.Left != 3 || !slices.Contains(moves(r), "B1-3") {
		t.Errorf("%d rounds left, the next moves %v", r.Left, moves(r))
	}
}

// Whatever stands against a move is named, at the support and at those that
// wait for it.
func TestRoundsWait(t *testing.T) {
	s, _ := limited(t)
	s.record(events.KindTie, events.Tie{Tie: "T1", What: "waste pipe", Supports: []string{"B1-3"}})
	r := s.picture().Rounds
	if len(r.Waits) == 0 || r.Waits[len(r.Waits)-1].Why != "waste pipe still fixed" || slices.Contains(moves(r), "B1-3") {
		t.Fatalf("%+v", r)
	}
	for _, w := range r.Waits {
		if w.Support == "B1-2" && w.Why != "B1-3: waste pipe still fixed" {
			t.Errorf("B1-2 waits: %q", w.Why)
		}
	}
	for name, record := range map[string]func(){
		"stopped: a crack": func() {
			s.record(events.KindStop, events.Stop{Why: "a crack", Ask: "engineer", Supports: []string{"B1-3"}})
		},
		"it is out": func() { s.record(events.KindSupportWork, events.SupportWork{Support: "B1-3", Step: events.TakenOut}) },
		"no date is set from which its pad carries": func() { s.record(events.KindSupportWork, events.SupportWork{Support: "B1-3", Step: events.Poured}) },
	} {
		s, _ = limited(t)
		record()
		r := s.picture().Rounds
		if !slices.ContainsFunc(r.Waits, func(w jobs.WaitingOn) bool { return w.Support == "B1-3" && w.Why == name }) {
			t.Errorf("%q is not among %+v", name, r.Waits)
		}
	}
}

// The agreed lift of a day is used up, and the next round is another day's.
func TestRoundsOfADay(t *testing.T) {
	s, u := surveyed(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", StepMM: 5, DailyMM: 5, NeighbourMM: 30, LeftOut: []string{"B1-2", "B1-4"}})
	s.jack("B1-3", 5)
	s.read(u, "B1-3", 1015)
	s.pack("B1-3", events.Temporary, 20)
	if v := s.support("B1-3"); v.Next != "Wait for another day: the lift agreed for one is done" {
		t.Errorf("today, next is %q", v.Next)
	}
	s.clock = s.clock.AddDate(0, 0, 1)
	if v := s.support("B1-3"); v.NextKind != events.KindJacking {
		t.Errorf("tomorrow, next is %q", v.Next)
	}
}

// Which day it is goes by the site, wherever the server is that asks: a morning in
// Melbourne is the evening before in London.
func TestDayIsTheSites(t *testing.T) {
	s, u := surveyed(t)
	s.clock = time.Date(2026, 3, 3, 8, 0, 0, 0, begin.Location())
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", StepMM: 5, DailyMM: 5, NeighbourMM: 30, LeftOut: []string{"B1-2", "B1-4"}})
	s.checkSafety()
	s.jack("B1-3", 5)
	s.read(u, "B1-3", 1015)
	s.pack("B1-3", events.Temporary, 20)
	s.step("B1-4", events.Poured, "")
	s.step("B1-4", events.CarriesFrom, "2026-03-04")
	for _, hours := range []int{0, 14, 16, 24} { // 8:10, 22:10, midnight gone, the next morning
		now := s.clock.Add(time.Duration(hours) * time.Hour)
		state := jobs.Refold(s.job, s.log)
		there := state.Picture(now)
		if diff := cmp.Diff(there, state.Picture(now.UTC())); diff != "" {
			t.Errorf("%d hours on (-there +elsewhere):\n%s", hours, diff)
		}
		wait := "Wait for another day: the lift agreed for one is done"
		v, _ := there.Support("B1-3")
		if later := hours >= 16; (v.Next == wait) == later || there.Checked == later {
			t.Errorf("%d hours on: next is %q, checked %v", hours, v.Next, there.Checked)
		}
	}
}

// The two ends at a butted join go in one step.
func TestRoundsAtAButtedJoin(t *testing.T) {
	s := newSite(t)
	p := bearerPlan()
	p.Supports = append(p.Supports, events.Support{ID: "B1-5", X: 5.5}, events.Support{ID: "B1-6", X: 7.2})
	p.Bearers[0].Supports = append(p.Bearers[0].Supports, "B1-5", "B1-6")
	p.Bearers[0].Joins = []events.Join{{At: "B1-4", Other: "B1-5", Sort: events.Butted}}
	s.record(events.KindPlan, p)
	u := s.laser(1000)
	for i, staff := range []float64{1000, 1002, 1006, 1012, 1012, 1001} {
		s.read(u, p.Supports[i].ID, staff)
	}
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner", StepMM: 5, NeighbourMM: 5, Ratio: 500})
	batch := map[string]int{}
	for _, m := range s.picture().Rounds.Moves {
		batch[m.Support] = m.Batch + 1
	}
	if batch["B1-4"] == 0 || batch["B1-4"] != batch["B1-5"] {
		t.Errorf("%v: B1-4 and B1-5 share a stump", batch)
	}
}

// Where rounds are planned an answer shows what stands beside what was touched,
// since what is due there hangs on it.
func TestTouchedInRounds(t *testing.T) {
	s, u := limited(t)
	s.read(u, "B1-1", 1000)
	state := jobs.Refold(s.job, s.log)
	if got := state.Touched(s.log[len(s.log)-1:]); !slices.Equal(got, []string{"B1-1", "B1-2", "B1-3", "B1-4"}) {
		t.Errorf("touched %v", got)
	}
}

// The round under way is planned alone where nobody asks for more: what a support is
// told is the same before and after the whole plan was made.
func TestFiguresBeforeAndAfterThePlan(t *testing.T) {
	s, u := limited(t)
	s.read(u, "B1-1", 1000)
	state := jobs.Refold(s.job, s.log)
	names := []string{"B1-1", "B1-2", "B1-3", "B1-4"}
	before := state.Figures(s.clock, names...)
	if p := state.Picture(s.clock); p.Rounds == nil || len(p.Rounds.Moves) == 0 || len(p.Rounds.Later) == 0 {
		t.Fatalf("%+v: there are no rounds to differ by", p.Rounds)
	}
	if diff := cmp.Diff(before, state.Figures(s.clock, names...)); diff != "" {
		t.Errorf("the whole plan changed what is due (-before +after):\n%s", diff)
	}
	if before[0].Stop == nil && before[1].Stop == nil && before[2].Stop == nil && before[3].Stop == nil {
		t.Error("no support has a stop figure")
	}
}
