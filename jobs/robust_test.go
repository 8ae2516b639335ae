package jobs_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/events"
	"relevel/jobs"
)

// fixtures are the bodies of every kind, as they are frozen in events.
func fixtures(t *testing.T) map[events.Kind]string {
	out := map[events.Kind]string{}
	for _, kind := range events.Kinds() {
		raw, err := os.ReadFile(filepath.Join("..", "events", "testdata", "kinds", string(kind)+"-1.json"))
		if err != nil {
			t.Fatal(err)
		}
		out[kind] = string(raw)
	}
	return out
}

// spoil changes a body as a careless or hostile sender might.
func spoil(t *rapid.T, body string) string {
	for range rapid.IntRange(0, 2).Draw(t, "changes") {
		old := rapid.SampledFrom([]string{"5", "18.5", "1284", `"B1-2"`, `"B1-3a"`, "true", `"D1"`, "0.6", "-", `"level"`, `"final"`}).Draw(t, "old")
		with := rapid.SampledFrom([]string{"null", "0", "1e7", "-4999", `""`, `"B1-4"`, `"X"`, "[]", "{}", "1e308", `"highest"`}).Draw(t, "new")
		body = strings.Replace(body, old, with, 1)
	}
	return body
}

var reference = regexp.MustCompile(`0190c5a2-3b10-7a00-8000-0000000000..`)

// Whatever kinds and bodies come in whatever order, the fold does not panic,
// everything it shows can be written as JSON, and continuing is refolding.
func TestFoldTakesAnything(t *testing.T) {
	all := fixtures(t)
	kinds := events.Kinds()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "events")
		s := jobs.New(id(0xa, 1))
		var log []events.Stored
		count := map[byte]int64{}
		for i := range n {
			kind := rapid.SampledFrom(kinds).Draw(t, "kind")
			if i == 0 && rapid.Bool().Draw(t, "begin with the plan") {
				kind = events.KindPlan
			}
			body := spoil(t, all[kind])
			body = reference.ReplaceAllStringFunc(body, func(string) string { // to an event of this job
				return id(0xe, rapid.IntRange(1, n).Draw(t, "to")).String()
			})
			dev := byte(rapid.IntRange(1, 2).Draw(t, "device"))
			count[dev]++
			e := events.Stored{Event: events.Event{
				ID: id(0xe, i+1), Job: id(0xa, 1), Kind: kind, V: 1, Body: json.RawMessage(body), Device: id(dev, 0),
				DeviceSeq: count[dev], At: wildTime(t), By: id(0xb, int(dev)), SeenSeq: int64(rapid.IntRange(0, n).Draw(t, "seen")),
			}, Seq: int64(i + 1), RecordedAt: begin.Add(time.Hour)}
			if rapid.IntRange(0, 3).Draw(t, "with an offset") == 0 {
				ms := rapid.OneOf(rapid.Int64(), rapid.Int64Range(-1000, 1000)).Draw(t, "offset")
				e.OffsetMS = &ms
			}
			log = append(log, e)
			again := jobs.Refold(s.Job(), log)
			if !jobs.Fold(s, e) {
				s = again
			}
			look(t, s, log)
			if diff := cmp.Diff(again.Picture(begin), s.Picture(begin)); diff != "" {
				t.Fatalf("after %d events (%s), continued and refolded differ:\n%s", i+1, kind, diff)
			}
		}
	})
}

// wildTime is about the same day, in order more often than not, or anywhere in
// the calendar.
func wildTime(t *rapid.T) time.Time {
	if rapid.IntRange(0, 19).Draw(t, "wild clock") == 0 {
		zone := time.FixedZone("", 60*rapid.IntRange(-23*60, 23*60).Draw(t, "zone"))
		return time.Date(rapid.IntRange(1970, 9999).Draw(t, "year"), 12, 31, 23, 59, 0, 0, zone)
	}
	return begin.Add(time.Duration(rapid.IntRange(0, 3000).Draw(t, "second")) * time.Second)
}

// look reads a state in every way there is.
func look(t *rapid.T, s *jobs.State, log []events.Stored) {
	p := s.Picture(begin)
	touched := s.Touched(log)
	lines := []jobs.Line{}
	for _, e := range log {
		lines = append(lines, s.Line(e))
	}
	for _, v := range p.Supports {
		p.Neighbours(v.ID)
	}
	for _, shown := range []any{p, s.Figures(begin, touched...), lines, s.Brief()} {
		if _, err := json.Marshal(shown); err != nil {
			t.Fatalf("cannot be shown: %v", err)
		}
	}
}

// The largest plan there may be, without a reading, is shown at once: nothing
// looks at all supports for each support.
func TestLargestPlanIsShownAtOnce(t *testing.T) {
	s := newSite(t)
	var plan events.Plan
	var out []string
	for i := range 5000 {
		name := fmt.Sprint("S", i)
		plan.Supports = append(plan.Supports, events.Support{ID: name, X: float64(i % 100), Y: float64(i / 100)})
		out = append(out, name)
	}
	s.record(events.KindPlan, plan)
	s.record(events.KindDayEnd, events.DayEnd{Out: true})
	before := time.Now()
	s.picture()
	s.record(events.KindAim, events.Aim{Aim: events.AimHighest, LeftOut: out, AgreedBy: "owner"})
	s.picture()
	if took := time.Since(before); took > 5*time.Second {
		t.Errorf("two pictures of 5 000 supports took %v", took)
	}
}
