package server_test

import (
	"crypto/rand"
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

func TestGoAheadAtTheDesk(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.another("Una Office", jobs.Office)
	b.another("Han Hand", jobs.CrewHand)
	d := newDevice(t, b.job)
	id, raw := d.event("stop", `{"why":"crack opened","supports":["B1-2"],"ask":"the engineer"}`)
	b.caller.post(b.job, raw)
	path := b.page("/stops/" + id.String())
	page := b.get(b.page("/stops"))
	shows(t, page, "Stop: crack opened", "the engineer, or somebody of the office with a reason", "Call out", path+"#reply")
	shows(t, b.get(b.page("")), path+"#reply")
	shows(t, b.get(path), `value="the engineer"`, "Una Office")
	hides(t, b.get(path), `<option value="Han Hand"`)

	for _, tt := range []struct{ who, why, field string }{
		{"", "fine", "missing"}, {"Han Hand", "fine", "the engineer was named: choose who was"}, {"Una Office", "", "so Una Office says why"},
	} {
		status, body, _ := b.reply(path, "", url.Values{"who": {tt.who}, "why": {tt.why}})
		if status != 422 || !strings.Contains(body, tt.field) || !strings.Contains(body, `value="`+tt.who+`"`) {
			t.Errorf("%q, %q: status %d: %s", tt.who, tt.why, status, body)
		}
	}
	if n := len(b.caller.state(b.job).Stops); n != 1 {
		t.Fatalf("%d stops stand, want the one", n)
	}
	status, body, at := b.reply(path, "", url.Values{"who": {"Una Office"}, "why": {"plaster only"}})
	if status != 200 || at.Path != b.page("/stops") {
		t.Fatalf("status %d at %s: %s", status, at, body)
	}
	shows(t, body, "Nothing is stopped", "Una Office: plaster only", "Given by Una Office of the office, where the engineer was named")
	if g := b.caller.state(b.job).Halts[0].GoAheads[0]; g.WhoOf.IsZero() || !g.Ended || g.Named {
		t.Errorf("kept as %+v", g)
	}
	if status, _, _ := b.post(path, url.Values{"who": {"the engineer"}}); status != 404 {
		t.Errorf("a stop that ended: status %d", status)
	}
}

// A go-ahead that a phone sent is kept whoever gave it; the page says what it is worth.
func TestGoAheadOfAPhone(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	id, raw := d.event("stop", `{"why":"crack opened","ask":"the engineer"}`)
	b.caller.post(b.job, raw, d.raw("go-ahead", fmt.Sprintf(`{"stop":"%s","who":"a hand"}`, id)))
	shows(t, b.get(b.page("/stops")), "Stop: crack opened", "Not enough", "not named, and no reason given: it ended nothing")
	b.caller.post(b.job, d.raw("go-ahead", fmt.Sprintf(`{"stop":"%s","who":"a hand","why":"looks fine"}`, id)))
	shows(t, b.get(b.page("/stops")), "Nothing is stopped", "not known as somebody of the office")
}

// Which phones know of a stop is said of each.
func TestPhonesThatKnowOfAStop(t *testing.T) {
	b := newBrowser(t, newSite(t))
	phone := func(name string) *device {
		d := newDevice(t, b.job)
		text, hash, err := jobs.NewToken(b.caller.firm, rand.Reader)
		must(t, err)
		must(t, pgjobs.New(b.site.db.App).CreateToken(t.Context(), jobs.Token{Firm: b.caller.firm, ID: newID(t), Hash: hash, Name: name, Scope: jobs.ScopePhone, Device: d.id, CreatedAt: time.Now()}))
		b.caller.post(b.job, d.raw("note", `{"text":"`+text[:4]+`"}`))
		return d
	}
	stopper, told, touch := phone("the stopper"), phone("told"), phone("in touch")
	phone("away")
	idle := newID(t)
	must(t, pgjobs.New(b.site.db.App).CreateToken(t.Context(), jobs.Token{Firm: b.caller.firm, ID: newID(t), Hash: events.Digest{1}, Name: "idle", Scope: jobs.ScopePhone, Device: idle, CreatedAt: time.Now()}))
	time.Sleep(5 * time.Millisecond) // what came before is before
	b.caller.post(b.job, stopper.raw("stop", `{"why":"crack opened","ask":"the engineer"}`))
	seq := b.caller.state(b.job).Seq
	b.caller.post(b.job, strings.Replace(told.raw("note", `{"text":"seen"}`), `"seen_seq":0`, fmt.Sprintf(`"seen_seq":%d`, seq), 1))
	b.caller.get("/phone?device="+touch.id.String(), nil)
	for name, words := range map[string]string{
		"the stopper": "recorded it", "told": "has seen it, and recorded since", "in touch": "in touch since, last at", "away": "before the stop: call out",
	} {
		b.rowUntil("/stops", name, words)
	}
	shows(t, b.get(b.page("/stops")), "1 not in touch since")
}

// rowUntil reads a page of the job until the row of a name holds some words: of a phone
// the other servers of a fleet hear a moment later.
func (b *browser) rowUntil(path, name, words string) {
	b.t.Helper()
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		page := b.get(b.page(path))
		row := page[max(0, strings.Index(page, `<th scope="row">`+name+"</th>")):]
		if row = row[:strings.Index(row, "</tr>")]; strings.Contains(row, words) {
			return
		}
		if time.Now().After(end) {
			b.t.Fatalf("%s: %s, want %q", name, row, words)
		}
	}
}
