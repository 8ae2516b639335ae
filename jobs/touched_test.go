package jobs_test

import (
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

func TestTouched(t *testing.T) {
	s, u := agreed(t)
	touched := func() []string {
		return jobs.Refold(s.job, s.log).Touched(s.log[len(s.log)-1:])
	}
	for _, tt := range []struct {
		name string
		do   func()
		want []string
	}{
		{"Reading", func() { s.read(u, "B1-3", 1020) }, []string{"B1-3"}},
		{"JackingReachesBothSides", func() { s.jack("B1-3", 3) }, []string{"B1-2", "B1-3", "B1-4"}},
		{"Tie", func() {
			s.record(events.KindTie, events.Tie{Tie: "gas", What: "gas line", Supports: []string{"B1-1"}})
		}, []string{"B1-1"}},
		{"TieFreed", func() { s.record(events.KindTieFreed, events.TieFreed{Tie: "gas"}) }, []string{"B1-1"}},
		{"Note", func() { s.record(events.KindNote, events.Note{Text: "rain"}) }, nil},
		{"Setup", func() { s.laser(1010) }, []string{"B1-1", "B1-2", "B1-3", "B1-4"}},
		{"SetAside", func() { s.read(u, "X9", 1000) }, nil},
		{"FloorSigned", func() { s.record(events.KindSigned, events.Signed{Floor: true}) }, []string{"B1-1", "B1-2", "B1-3", "B1-4"}},
	} {
		tt.do()
		if got := touched(); !slices.Equal(got, tt.want) {
			t.Errorf("%s touched %q, want %q", tt.name, got, tt.want)
		}
	}
}

// A room's signature speaks for the supports that stand in it and are lifted.
func TestRoomSigned(t *testing.T) {
	s := newSite(t)
	plan := bearerPlan()
	plan.Rooms = []events.Room{
		{Name: "hall", Outline: []events.Position{{-1, -1}, {2.7, -1}, {2.7, 1}, {-1, 1}}},
		{Name: "bath", Outline: []events.Position{{2.7, -1}, {6, -1}, {6, 1}, {2.7, 1}}},
	}
	s.record(events.KindPlan, plan)
	u := s.laser(1000)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(0), Face: events.BearerFace, LeftOut: []string{"B1-2"}, AgreedBy: "owner"})
	for _, name := range []string{"B1-1", "B1-2", "B1-3"} {
		s.pack(name, events.Final, 10)
		s.fix(name)
		s.read(u, name, 1000)
	}
	s.record(events.KindSigned, events.Signed{Room: "hall"})
	for name, want := range map[string]bool{"B1-1": true, "B1-2": false, "B1-3": false} {
		if v := s.support(name); (v.State == jobs.IsSigned) != want {
			t.Errorf("%s is %s", name, v.State)
		}
	}
	if v := s.support("B1-2"); v.Next != "Left out, as agreed" || v.Target != nil {
		t.Errorf("left out: next %q, target %v", v.Next, v.Target)
	}
}

// What is found below is drawn where it stands, and beside its neighbours.
func TestFound(t *testing.T) {
	s, u := agreed(t)
	s.record(events.KindFound, events.Found{What: events.FoundSupport, ID: "B1-2x", X: 2.7, Bearer: "B1", After: "B1-2", Sort: "post"})
	s.read(u, "B1-2x", 1016)
	v := s.support("B1-2x")
	near(t, "remaining", v.Remaining, 16)
	if v.Bearer != "B1" || v.Sort != "post" || v.X != 2.7 {
		t.Errorf("%+v", v)
	}
	s.jack("B1-2x", 3)
	if !s.support("B1-2").Stale || !s.support("B1-3").Stale {
		t.Error("its neighbours are not to be read again")
	}
	if got := s.picture().Neighbours("B1-2x"); !slices.Equal(got, []string{"B1-2", "B1-3"}) {
		t.Errorf("beside it: %q", got)
	}
	s.record(events.KindFound, events.Found{What: events.NoneHere, ID: "B1-4"})
	if v := s.support("B1-4"); v.State != jobs.NotThere || v.Next != "Nothing stands here" {
		t.Errorf("%s, next %q", v.State, v.Next)
	}
	// A later drawing that forgets the find keeps it.
	s.record(events.KindPlan, bearerPlan())
	if v := s.support("B1-2x"); v.Bearer != "B1" {
		t.Error("a later drawing lost what was found")
	}
	// One by somebody who knew of the find leaves it off, and what was read there
	// comes back with it.
	s.record(events.KindPlan, bearerPlan())
	s.log[len(s.log)-1].SeenSeq = int64(len(s.log) - 1)
	if _, drawn := s.picture().Support("B1-2x"); drawn {
		t.Error("who saw the find cannot leave it off")
	}
	back := bearerPlan()
	back.Supports = append(back.Supports, events.Support{ID: "B1-2x", X: 2.7})
	s.record(events.KindPlan, back)
	if v := s.support("B1-2x"); v.Present == nil || len(s.picture().SetAside) > 0 {
		t.Errorf("what came back is %+v, set aside: %+v", v, s.picture().SetAside)
	}
}

// Where nothing stands nothing is lifted, sets the aim or stops a move from
// reaching further, until something is found there after all.
func TestNoneHere(t *testing.T) {
	s, u := surveyed(t)
	s.record(events.KindFound, events.Found{What: events.NoneHere, ID: "B1-1"})
	s.record(events.KindFound, events.Found{What: events.NoneHere, ID: "B1-3"})
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner"})
	if by := s.picture().Aim.SetBy; by != "B1-4" {
		t.Errorf("the aim is set by %s, want B1-4", by)
	}
	if got := s.picture().Neighbours("B1-2"); !slices.Equal(got, []string{"B1-4"}) {
		t.Errorf("beside B1-2: %q", got)
	}
	s.jack("B1-2", 3)
	if !s.support("B1-4").Stale || s.support("B1-3").Bearer != "B1" {
		t.Error("a move does not reach past where nothing stands")
	}
	s.record(events.KindFound, events.Found{What: events.FoundSupport, ID: "B1-3", X: 3.6, Bearer: "B1", After: "B1-2"})
	s.read(u, "B1-3", 1020)
	if v := s.support("B1-3"); v.NoneHere || v.State != jobs.IsRead {
		t.Errorf("found after all: %s", v.State)
	}
}

func TestFoundOddly(t *testing.T) {
	s, _ := agreed(t)
	s.record(events.KindFound, events.Found{What: events.FoundSupport, ID: "D1"})
	if p := s.picture(); len(p.SetAside) != 1 || len(p.Supports) != 4 {
		t.Errorf("a support named like a datum: set aside %+v", p.SetAside)
	}
	s.record(events.KindFound, events.Found{What: events.FoundSupport, ID: "X1", Bearer: "B7"})
	s.flagged("X1 was found on B7, which is on no plan")
}

// A target that rests on a reading in doubt says so.
func TestAimOnDoubt(t *testing.T) {
	s, u := surveyed(t)
	s.read(u, "B1-2", 950)
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, AgreedBy: "owner"})
	s.flagged("B1-2 sets the height of all others, and its reading is in doubt")
}

// The two ends at a butted join are two places with their own heights; each
// hears of the other's moves, since they share a stump.
// butted is a bearer of two lengths that meet on one stump.
func butted(t *testing.T) (*site, events.ID) {
	s := newSite(t)
	s.record(events.KindPlan, events.Plan{
		Supports: []events.Support{{ID: "A"}, {ID: "Ba", X: 1.8}, {ID: "Bb", X: 1.9}, {ID: "C", X: 3.6}},
		Datums:   []events.Datum{{ID: "D1", X: -1, Height: mm(0)}},
		Bearers:  []events.Bearer{{ID: "B1", Supports: []string{"A", "Ba", "Bb", "C"}, Joins: []events.Join{{At: "Ba", Other: "Bb", Sort: events.Butted}}}},
	})
	return s, s.laser(1000)
}

func TestButtedJoin(t *testing.T) {
	s, u := butted(t)
	s.read(u, "Ba", 1010)
	s.read(u, "Bb", 1014)
	s.read(u, "C", 1000)
	s.jack("Ba", 5)
	near(t, "the other end", s.support("Bb").Present, -14)
	if !s.support("Bb").Stale || s.support("C").Stale {
		t.Error("the other end is to be read again, what lies beyond it is not")
	}
}

// The two ends of a butted join stand on one stump: out and set are of both.
func TestButtedJoinTakenOut(t *testing.T) {
	s, _ := butted(t)
	s.record(events.KindAim, events.Aim{Aim: events.AimLevel, Height: mm(0), MaxOut: 1, AgreedBy: "owner"})
	s.checkSafety()
	s.record(events.KindBlocking, events.Blocking{Place: "K1", Supports: []string{"Ba", "Bb"}, What: "crossed timbers", Base: "sleepers"})
	s.step("Ba", events.TakenOut, "")
	s.wantDangers("Ba out", "Ba on blocking", "Bb out", "Bb on blocking")
	if flags := s.picture().Flags; len(flags) > 0 {
		t.Errorf("one stump is out: %+v", flags)
	}
	s.step("Ba", events.Poured, "")
	s.step("Bb", events.Set, "")
	s.wantDangers("Ba on blocking", "Bb on blocking")
	if next := s.support("Bb").Next; next != "Set the date from which the pad carries" {
		t.Errorf("next %q", next)
	}
}

// A datum that reads otherwise than it is taken to be says so.
func TestDatumDoubted(t *testing.T) {
	s, u := agreed(t)
	s.read(u, "D1", 1008)
	if d := s.picture().Datums[0]; !strings.Contains(d.Doubt, "reads about 8 mm below") {
		t.Errorf("%+v", d)
	}
}

// New supports carry from a date that somebody sets; there is no default.
func TestNewSupport(t *testing.T) {
	s, u := agreed(t)
	step := func(step events.WorkStep, from string) {
		s.record(events.KindSupportWork, events.SupportWork{Support: "B1-3", Step: step, From: from})
	}
	s.record(events.KindBlocking, events.Blocking{Place: "K1", Supports: []string{"B1-3"}, What: "crossed timbers", Base: "sleepers"})
	step(events.TakenOut, "")
	step(events.Dug, "")
	step(events.Poured, "")
	if next := s.support("B1-3").Next; next != "Set the date from which the pad carries" {
		t.Errorf("next %q", next)
	}
	step(events.CarriesFrom, "2026-03-20")
	if next := s.support("B1-3").Next; next != "Wait: the pad carries from 2026-03-20" {
		t.Errorf("next %q", next)
	}
	s.clock = s.clock.AddDate(0, 0, 20)
	step(events.Set, "")
	s.record(events.KindBlockingRemoved, events.BlockingRemoved{Place: "K1"})
	if v := s.support("B1-3"); v.State != jobs.IsRead || !strings.HasPrefix(v.Next, "Read it") {
		t.Errorf("%s, next %q", v.State, v.Next)
	}
	s.read(u, "B1-3", 1018)
	near(t, "the survey is from before", s.support("B1-3").Survey, -20)
}
