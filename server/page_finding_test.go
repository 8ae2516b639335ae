package server_test

import (
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

// reply fills in the form that stands on a page, and sends it.
func (b *browser) reply(path, do string, fill url.Values, photos ...[]byte) (status int, body string, at *url.URL) {
	b.t.Helper()
	query := ""
	if do != "" {
		query = "?do=" + do
	}
	form := hidden(b.get(path + query))
	form.Set("recorder", b.person.String())
	for name, values := range fill {
		form[name] = values
	}
	return b.post(path, form, photos...)
}

// shows fails the test unless a page holds all of some words.
func shows(t *testing.T, page string, all ...string) {
	t.Helper()
	for _, words := range all {
		if !strings.Contains(page, words) {
			t.Errorf("%q is not on the page:\n%s", words, page)
		}
	}
}

func hides(t *testing.T, page string, all ...string) {
	t.Helper()
	for _, words := range all {
		if strings.Contains(page, words) {
			t.Errorf("%q is on the page", words)
		}
	}
}

// finding records one by a phone and returns the address of its page.
func (b *browser) finding(d *device, body string) string {
	id, raw := d.event("finding", body)
	b.caller.post(b.job, raw)
	return b.page("/findings/" + id.String())
}

func TestFindingIsSeenTo(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	path := b.finding(d, `{"what":"wet","cause":"a leaking pipe","supports":["B1-2"],"trade":"plumber","by":"2026-01-05"}`)
	shows(t, b.get(path), "Suspected cause", "a leaking pipe", "plumber", "days over", `href="?do=close#reply"`)

	status, body, _ := b.reply(path, "follow", url.Values{"owner": {""}, "trade": {""}, "by": {""}, "answer": {""}})
	if status != 422 || !strings.Contains(body, "an answer, or that it is open again") {
		t.Errorf("nothing said: status %d: %s", status, body)
	}
	if _, body, at := b.reply(path, "follow", url.Values{"owner": {b.person.String()}, "trade": {""}, "by": {"2099-04-20"}, "answer": {"he comes on Thursday"}}); at.Path != path {
		t.Fatalf("not saved: %s", body)
	}
	shows(t, b.get(path), "Mere Kohu", "20 April 2099", "Given to Mere Kohu", "he comes on Thursday")
	hides(t, b.get(path), "days over")

	if status, body, _ := b.reply(path, "close", url.Values{"how": {" "}}); status != 422 || !strings.Contains(body, "missing") {
		t.Errorf("closed by nothing: status %d", status)
	}
	b.reply(path, "close", url.Values{"how": {"joint renewed"}}, picture(t))
	page := b.get(path)
	shows(t, page, "Closed: joint renewed", "Open it again", `class="photo"`)
	hides(t, page, "?do=close")
	b.reply(path, "again", url.Values{"answer": {"it drips"}})
	shows(t, b.get(path), "Open again; it drips", "?do=close")

	f := b.caller.state(b.job).Found[0]
	if !f.Open || f.Owner != b.person || f.Trade != "" || len(f.Since) != 3 || f.Since[1].Files == nil {
		t.Errorf("kept as %+v", f)
	}
	if status, _, _ := b.post(b.page("/findings/"+newID(t).String()), url.Values{"do": {"close"}}); status != 404 {
		t.Errorf("a finding that is none: status %d", status)
	}
}

func TestFindingsFiltered(t *testing.T) {
	b := newBrowser(t, newSite(t))
	if page := b.get(b.page("/findings")); !strings.Contains(page, "Nothing was found yet") {
		t.Errorf("an empty page does not say what to do: %s", page)
	}
	d := newDevice(t, b.job)
	b.finding(d, `{"what":"wet wall","trade":"plumber","by":"2026-01-05"}`)
	b.finding(d, `{"what":"leaning post","owner":"`+b.person.String()+`"}`)
	done := b.finding(d, `{"what":"blocked vents","trade":"builder"}`)
	b.caller.post(b.job, d.raw("finding-closed", `{"finding":"`+done[strings.LastIndex(done, "/")+1:]+`","how":"vents cut"}`))
	for query, want := range map[string][]string{
		"":                             {"Wet wall", "Leaning post", "Blocked vents"},
		"?state=open":                  {"Wet wall", "Leaning post"},
		"?state=overdue":               {"Wet wall"},
		"?state=closed":                {"Blocked vents"},
		"?trade=builder":               {"Blocked vents"},
		"?owner=" + b.person.String():  {"Leaning post"},
		"?state=closed&trade=plumber":  nil,
		"?state=nonsense&trade=<b>hm>": nil,
	} {
		page := b.get(b.page("/findings" + query))
		var got []string
		for _, m := range regexp.MustCompile(`<td class="what"><a [^>]*>([^<]*)`).FindAllStringSubmatch(page, -1) {
			got = append(got, m[1])
		}
		if strings.Join(got, "|") != strings.Join(want, "|") {
			t.Errorf("%s shows %v, want %v", query, got, want)
		}
		if query != "" && !strings.Contains(page, " of 3 ") {
			t.Errorf("%s does not say what is not shown", query)
		}
	}
}

// What is open on all jobs stands on one page, of this firm alone.
func TestFindingsOfTheFirm(t *testing.T) {
	s := newSite(t)
	b, other := newBrowser(t, s), newBrowser(t, s)
	b.finding(newDevice(t, b.job), `{"what":"wet wall","trade":"plumber","by":"2026-01-05"}`)
	second := b.caller.newJob()
	d := newDevice(t, second)
	b.caller.post(second, d.raw("finding", `{"what":"leaning post"}`))
	other.finding(newDevice(t, other.job), `{"what":"canary"}`)
	b.until("/findings", "Wet wall") // the row of each job is written by itself
	page := b.until("/findings", "Leaning post")
	shows(t, page, "Wet wall", "days over", "/jobs/"+second.String()+"/findings/", "nobody")
	hides(t, page, "canary")
	if strings.Index(page, "Wet wall") > strings.Index(page, "Leaning post") {
		t.Error("what is due does not stand first")
	}
	hides(t, b.get("/findings?state=overdue"), "Leaning post")
}

// until reads a page until it holds some words, which a row written behind the
// requests brings.
func (b *browser) until(path, words string) string {
	b.t.Helper()
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		page := b.get(path)
		if strings.Contains(page, words) {
			return page
		}
		if time.Now().After(end) {
			b.t.Fatalf("%s never says %q: %s", path, words, page)
		}
	}
}

// another makes another of the firm's people.
func (b *browser) another(name string, role jobs.Role) events.ID {
	b.t.Helper()
	id := newID(b.t)
	must(b.t, pgjobs.New(b.site.db.App).CreatePerson(b.t.Context(), jobs.Person{Firm: b.caller.firm, ID: id, Name: name, Role: role, CreatedAt: time.Now()}))
	return id
}
