package seam_test

import (
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/cmd/phonewasm/seam"
	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/drawing"
)

// sheet is the answer of every drawing.
type sheet struct{ SVG string }

func draw(t testing.TB, s *seam.Seam, name string, more request) string {
	t.Helper()
	r := request{"job": job, "region": "NZ", "initials": map[string]string{phone.String(): "RT"}}
	for k, v := range more {
		r[k] = v
	}
	return call[sheet](t, s, name, r).SVG
}

// pageOptions are those of a server's page, but for where its links lead.
func pageOptions(turn int) drawing.Options {
	return drawing.Options{
		Turn: turn, Words: jobs.NewZealand.Words(),
		Link:     func(id string) string { return "#/job/" + job.String() + "/support/" + url.PathEscape(id) },
		Initials: func(id events.ID) string { return map[events.ID]string{phone: "RT"}[id] },
	}
}

// signed is a floor under way of which one support is finished.
func signed(t testing.TB) *floor {
	f := play(t, 3, 30)
	reading := f.add(phone, events.KindReading, events.Reading{Setup: f.setup, Point: "B0-0", Face: events.BearerFace, Staff: mm(1000)})
	f.add(phone, events.KindSigned, events.Signed{Support: "B0-0", Reading: reading})
	return f
}

// What the phone draws is what the server draws of the same log.
func TestDrawsAsServer(t *testing.T) {
	f := signed(t)
	s := seam.New()
	take(t, s, f.log...)
	p := jobs.Refold(job, f.log).Picture(f.end())
	if p.Rounds == nil || len(p.Rounds.Moves) == 0 {
		t.Fatal("no round is under way")
	}
	same := func(what, got, want string) {
		t.Helper()
		if diff := cmp.Diff(want, got); diff != "" || want == "" {
			t.Errorf("%s (-server +phone):\n%s", what, diff)
		}
	}
	for turn := range 4 {
		at := request{"now": f.end(), "turn": turn}
		same("floor", draw(t, s, "floor", at), drawing.Floor(p, pageOptions(turn)))
		at["round"] = true
		o := pageOptions(turn)
		o.Round = drawing.RoundOf(p.Rounds)
		same("round", draw(t, s, "floor", at), drawing.Floor(p, o))
	}
	for _, one := range p.Supports {
		same(one.ID, draw(t, s, "section", request{"now": f.end(), "support": one.ID}), drawing.Section(one, one.Bearer, pageOptions(0)))
	}
	for _, b := range p.Plan.Bearers {
		same(b.ID, draw(t, s, "line", request{"now": f.end(), "bearer": b.ID}), drawing.StringLine(p, b, pageOptions(0)))
	}
	if got := draw(t, s, "floor", request{"now": f.end()}); !strings.Contains(got, "RT") || !strings.Contains(got, "12 piles") {
		t.Errorf("neither signed nor in the firm's words: %.300s", got)
	}
}

// Phrases and drawings are in the unit that is asked for, each time; figures are mm.
func TestSpeaksUnits(t *testing.T) {
	f := play(t, 3, 30)
	s := seam.New()
	take(t, s, f.log...)
	state := jobs.Refold(job, f.log)
	for _, unit := range []levelling.Unit{levelling.Inch, levelling.Foot, levelling.Millimetre} {
		state.Speak(jobs.Speech{Units: unit})
		want := state.Picture(f.end())
		got := call[jobs.Picture](t, s, "state", request{"job": job, "now": f.end(), "units": unit})
		for i, p := range want.Supports {
			if now := got.Supports[i]; now.ToGo != p.ToGo || now.Next != p.Next || now.Remaining != nil && now.Remaining.MM != p.Remaining.MM {
				t.Errorf("%s in %s: %q, %q, want %q, %q", p.ID, unit, now.ToGo, now.Next, p.ToGo, p.Next)
			}
		}
		o := pageOptions(0)
		o.Units = unit
		if diff := cmp.Diff(drawing.Floor(want, o), draw(t, s, "floor", request{"now": f.end(), "units": unit})); diff != "" {
			t.Errorf("in %s (-server +phone):\n%s", unit, diff)
		}
	}
}

// A drawing shows what was recorded since the one before, and what a later day
// changes.
func TestDrawsAnew(t *testing.T) {
	f := play(t, 3, 0)
	s := seam.New()
	take(t, s, f.log...)
	at := request{"now": f.end()}
	before := draw(t, s, "floor", at)
	id := f.add(phone, events.KindStop, events.Stop{Why: "a crack", Supports: []string{"B0-1"}, Ask: "the site lead"})
	record(t, s, f.log[len(f.log)-1].Event)
	if stopped := draw(t, s, "floor", at); stopped == before || !strings.Contains(stopped, "stopped") {
		t.Error("what was recorded is not drawn")
	}
	call[counts](t, s, "drop", request{"job": job, "ids": []events.ID{id}})
	if draw(t, s, "floor", at) != before {
		t.Error("what was dropped is still drawn")
	}
	state := func(now time.Time) bool {
		return call[jobs.Picture](t, s, "state", request{"job": job, "now": now}).Checked
	}
	f.add(phone, events.KindSafetyCheck, events.SafetyCheck{Sentences: []events.Initialled{{Sentence: "Power is off", Initials: "RT"}}, AtHatch: "Rangi"})
	record(t, s, f.log[len(f.log)-1].Event)
	if today, tomorrow := state(f.end()), state(f.end().Add(24*time.Hour)); !today || tomorrow {
		t.Errorf("checked today %t, tomorrow %t", today, tomorrow)
	}
}

// A name may hold what an address or a page would take for its own.
func TestLinksOfOddNames(t *testing.T) {
	names := []string{`a/b`, `#1?x=%2F`, `"><svg onload=x>`, `ä 北 &amp;`, `..`, `+'$`}
	f := &floor{t: t, counts: map[events.ID]int64{}}
	p := events.Plan{}
	for i, n := range names {
		p.Supports = append(p.Supports, events.Support{ID: n, X: float64(i) * 2})
	}
	f.add(phone, events.KindPlan, p)
	s := seam.New()
	take(t, s, f.log...)
	svg := draw(t, s, "floor", request{"now": f.end()})
	var linked []string
	for _, part := range strings.Split(svg, ` href="#/job/`+job.String()+`/support/`)[1:] {
		end := strings.Index(part, `"`)
		id, err := url.PathUnescape(strings.NewReplacer("&amp;", "&", "&#39;", "'").Replace(part[:end]))
		if err != nil || strings.ContainsAny(part[:end], `/#?<> `) {
			t.Errorf("%q: %v", part[:end], err)
		}
		linked = append(linked, id)
	}
	if !slices.Equal(linked, names) {
		t.Errorf("links lead to %q, want %q", linked, names)
	}
	if got := draw(t, s, "section", request{"now": f.end(), "support": names[2]}); strings.Contains(got, "<svg onload") || !strings.Contains(got, "&lt;svg onload") {
		t.Error(got)
	}
}
