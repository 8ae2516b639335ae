package demo

import (
	"bytes"
	"context"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// noon is a moment at which the last morning on site is over.
var noon = time.Date(2026, 11, 25, 3, 0, 0, 0, time.UTC)

// shared is made once: drawing its pictures takes a moment.
var shared = sync.OnceValues(func() (Demo, error) { return New(context.Background(), noon) })

func made(t *testing.T) Demo {
	t.Helper()
	d, err := shared()
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func picture(t *testing.T, h History) jobs.Picture {
	t.Helper()
	p, err := h.Book.Picture(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestSameDemoTwice(t *testing.T) {
	one := made(t)
	two, err := New(context.Background(), noon)
	if err != nil {
		t.Fatal(err)
	}
	for i, h := range one.Jobs {
		again := two.Jobs[i].Book
		same := slices.EqualFunc(h.Book.Events, again.Events, func(a, b events.Incoming) bool { return bytes.Equal(a.Raw, b.Raw) })
		if !same || len(h.Book.Photos) != len(again.Photos) {
			t.Errorf("%s was told in other words the second time", h.Job.Name)
		}
	}
	if diff := cmp.Diff(one.Main(), two.Main()); diff != "" {
		t.Errorf("another main job (-first +second):\n%s", diff)
	}
}

func TestEverythingCounts(t *testing.T) {
	for _, h := range made(t).Jobs {
		p := picture(t, h)
		if len(p.SetAside) > 0 || p.Newer > 0 {
			t.Errorf("%s: %d newer, set aside: %v", h.Job.Name, p.Newer, p.SetAside)
		}
		for _, e := range h.Book.Events {
			if e.Event.At.After(noon) {
				t.Errorf("%s: a %s is recorded at %s, after the demo was made", h.Job.Name, e.Event.Kind, e.Event.At)
			}
		}
	}
}

func TestRunningJob(t *testing.T) {
	h := made(t).Jobs[0]
	p := picture(t, h)
	if len(p.Supports) < 24 || len(p.Plan.Bearers) != 4 {
		t.Errorf("%d supports on %d bearers, want at least 24 on 4", len(p.Supports), len(p.Plan.Bearers))
	}
	want := []string{"B3-6 on a jack", "B4-5 out", "B4-5 on blocking", "B4-6 out", "B4-6 on blocking"}
	if diff := cmp.Diff(want, p.Brief.Dangerous); diff != "" {
		t.Errorf("dangerous (-want +got):\n%s", diff)
	}
	signed := 0
	for _, s := range p.Supports {
		if s.State == jobs.IsSigned {
			signed++
		}
	}
	if signed != 13 {
		t.Errorf("%d supports are signed, want the 13 of B1 and B2", signed)
	}
}

// The misreading is there to be noticed: the job as it was before the void
// doubts the support.
func TestMisreadingIsDoubted(t *testing.T) {
	h := made(t).Jobs[0]
	i := slices.IndexFunc(h.Book.stored, func(e events.Stored) bool { return e.Kind == events.KindVoid })
	p := jobs.Refold(h.Job.ID, h.Book.stored[:i]).Picture(noon)
	if s, _ := p.Support("B3-4"); s.Doubt == "" {
		t.Error("the misread staff at B3-4 was not doubted")
	}
}

// Of its two instruments one was checked in time; the other stands there with a
// check that has run out, and everybody who reads by it is told.
func TestInstruments(t *testing.T) {
	p := picture(t, made(t).Jobs[0])
	due := map[string]bool{}
	for _, i := range p.Instruments {
		due[i.Name] = i.Due
	}
	if diff := cmp.Diff(map[string]bool{Laser: false, Level: true}, due); diff != "" {
		t.Errorf("checks that have run out (-want +got):\n%s", diff)
	}
	for _, u := range p.Setups {
		if u.CheckDue != (u.Instrument == Level) {
			t.Errorf("the set-up of the %s at %s: %s", u.Instrument, u.At, u.Check)
		}
		if u.Instrument == Laser && !strings.HasPrefix(u.Check, "two-peg checked ") {
			t.Errorf("the laser: %s", u.Check)
		}
	}
	if !slices.ContainsFunc(p.Setups, func(u jobs.Setup) bool { return u.Instrument == Level && !u.Closed }) {
		t.Error("the level does not stand there")
	}
}

func TestFinishedJob(t *testing.T) {
	p := picture(t, made(t).Jobs[2])
	if p.Stage != "done" || len(p.Left) > 0 {
		t.Errorf("stage %q, left %v", p.Stage, p.Left)
	}
	for _, s := range p.Supports {
		if s.State != jobs.IsSigned || s.Remaining == nil || math.Abs(s.Remaining.MM) > 3 {
			t.Errorf("%s is %s with %+v to go, want signed and within 3 mm", s.ID, s.State, s.Remaining)
		}
	}
}

func TestWaitingJob(t *testing.T) {
	p := picture(t, made(t).Jobs[1])
	if !p.Brief.Stopped || p.Brief.Signed > 0 || len(p.Brief.Dangerous) > 0 {
		t.Errorf("stopped %t, signed %d, dangerous %v", p.Brief.Stopped, p.Brief.Signed, p.Brief.Dangerous)
	}
}

func TestPhotosOfEveryStage(t *testing.T) {
	stages := map[events.Stage]int{}
	for _, h := range made(t).Jobs {
		for _, e := range h.Book.Events {
			for _, f := range e.Event.Files {
				stages[f.Stage]++
				if jpeg, kept := h.Book.Photos[f.SHA256]; !kept || int64(len(jpeg)) != f.Bytes || events.Sniff(jpeg) != events.MediaJPEG {
					t.Errorf("%s: the photo of %s is not among those kept", h.Job.Name, f.Subject)
				}
			}
		}
	}
	for _, s := range []events.Stage{events.Before, events.During, events.After} {
		if stages[s] < 3 {
			t.Errorf("%d photos from %q, want at least 3", stages[s], s)
		}
	}
}

func TestFloor(t *testing.T) {
	f := NewFloor(LongHall(), "test")
	before := f.underside("B2-4")
	gap := f.Gap("B2-4")
	f.Jack("B2-4", 10)
	if rise := f.underside("B2-4") - before; math.Abs(rise-10) > 4*jackingSD {
		t.Errorf("jacked by %.1f, want about 10", rise)
	}
	if other := f.height["B2-5"] - LongHall().HeightMM["B2-5"]; math.Abs(other) > 2 {
		t.Errorf("the other side of a butted join moved by %.1f", other)
	}
	wider := f.Gap("B2-4") - gap
	if math.Abs(wider-10) > 3 {
		t.Errorf("the gap grew by %.0f, want about 10", wider)
	}
	up := f.underside("B2-4")
	f.JackDown("B2-4", f.Gap("B2-4"))
	if lost := up - f.underside("B2-4"); lost < bedLeast || lost > bedLeast+bedSpread+1 {
		t.Errorf("%.2f lost when the jack was let down, want between %.1f and %.1f", lost, bedLeast, bedLeast+bedSpread+1)
	}
}
