package server_test

import (
	"context"
	"fmt"
	"html"
	"io"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// lineOf is a job's line of the day sheet, as text.
func (b *browser) lineOf(job events.ID, path string) string {
	b.t.Helper()
	page := html.UnescapeString(b.get(path))
	m := regexp.MustCompile(`(?s)<tr data-job="` + job.String() + `".*?</tr>`).FindString(page)
	if m == "" {
		b.t.Fatalf("%s has no line of the job: %s", path, page)
	}
	return m
}

// saidOf is all that a day sheet says of a job: above all jobs, and in its line.
func (b *browser) saidOf(job events.ID, path string) string {
	b.t.Helper()
	above := regexp.MustCompile(`(?s)<li data-of="`+job.String()+`".*?</li>`).FindAllString(html.UnescapeString(b.get(path)), -1)
	return strings.Join(above, "\n") + b.lineOf(job, path)
}

// The line of a job says where it stands and what waits, the urgent in red and above
// all jobs, and each leads to where somebody acts.
func TestDaySheet(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	d.by = b.person
	b.caller.post(b.job,
		d.raw("stop", `{"why":"a crack opened","supports":["B1-2"],"ask":"the engineer"}`),
		d.raw("finding", `{"what":"trap leaks","by":"2020-03-02","trade":"plumber"}`),
		d.raw("finding", `{"what":"wet ground"}`),
		d.raw("change", `{"text":"a second pad"}`),
		d.raw("reading", `{"setup":"`+b.person.String()+`","point":"B1-1","face":"floor","staff":1000}`),
		d.raw("note", `{"text":"rang the owner"}`))
	b.caller.send("POST", "/jobs/"+b.job.String()+"/events", []byte(`{"events":[{"kind":"nonsense"}]}`)).want(t, 200, nil)
	waitListed(t, b.caller, 7)
	line := b.lineOf(b.job, "/")
	for want, href := range map[string]string{
		"A finding overdue: trap leaks, due 2 March 2020": "/findings/",
		"A finding open: wet ground":                      "/findings/",
		"A change to answer: a second pad":                "/changes/",
		"1 record set aside":                              "#aside",
	} {
		m := regexp.MustCompile(`href="([^"]+)">` + regexp.QuoteMeta(want) + "<").FindStringSubmatch(line)
		if m == nil || !strings.HasPrefix(m[1], b.page("")+href) {
			t.Errorf("no %q that leads to %s: %s", want, href, line)
			continue
		}
		b.get(m[1])
	}
	for _, want := range []string{`href="/quarantine">1 record kept apart<`, "Note: rang the owner", "Mere Kohu", `class="small-floor"`} {
		if !strings.Contains(line, want) {
			t.Errorf("no %q: %s", want, line)
		}
	}
	first := b.get("/")
	first = first[strings.Index(first, `id="first"`):strings.Index(first, `id="sheet"`)]
	stop := regexp.MustCompile(`href="([^"]+)">Stopped at B1-2: a crack opened. Go-ahead by the engineer<`).FindStringSubmatch(first)
	if stop == nil || !strings.HasPrefix(stop[1], b.page("/stops/")) || strings.Contains(first, "wet ground") {
		t.Errorf("first stands %s", first)
	}
	if strings.Contains(line, "a crack opened") || !strings.Contains(line, `href="#first">1 above<`) {
		t.Errorf("what stands above is not said once: %s", line)
	}
}

// What is left over night is urgent once the day is over where the house stands, and
// not where the server does.
func TestDaySheetAfterHours(t *testing.T) {
	var now atomic.Pointer[time.Time]
	set := func(at time.Time) { now.Store(&at) }
	zone, err := time.LoadLocation("Australia/Sydney")
	must(t, err)
	set(time.Date(2026, 3, 2, 15, 0, 0, 0, zone).UTC())
	b := newBrowser(t, newSite(t, func(c *server.Config) { c.Now = func() time.Time { return *now.Load() } }))
	d := newDevice(t, b.job)
	d.at = time.Date(2026, 3, 2, 9, 0, 0, 0, zone)
	b.caller.post(b.job, d.raw("jacking", `{"moves":[{"support":"B1-1","by":3,"gauge":"rule"}]}`))
	waitListed(t, b.caller, 2)
	if line := b.saidOf(b.job, "/"); !strings.Contains(line, `data-rank="40"`) || !strings.Contains(line, "People below, since 09:00") {
		t.Errorf("in the afternoon: %s", line)
	}
	set(time.Date(2026, 3, 2, 16, 30, 0, 0, zone).UTC())
	if line := b.saidOf(b.job, "/"); !strings.Contains(line, `data-rank="100"`) || !strings.Contains(line, `/record/day-end">People not said to be out, since 09:00`) {
		t.Errorf("after hours: %s", line)
	}
	set(time.Date(2026, 3, 3, 7, 0, 0, 0, zone).UTC())
	if line := b.saidOf(b.job, "/"); !strings.Contains(line, "B1-1 on a jack, since Mon 2 Mar 09:00") || !strings.Contains(line, `data-rank="100"`) {
		t.Errorf("the morning after: %s", line)
	}
}

// The sheet is grouped by crew, a crew's jobs alone are shown on demand, and empty
// ones say what to do next.
func TestDaySheetCrews(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	crew := jobs.Crew{Firm: b.caller.firm, ID: newID(t), Name: "Crew North"}
	idle := jobs.Crew{Firm: b.caller.firm, ID: newID(t), Name: "Crew South"}
	must(t, pgjobs.New(s.db.App).CreateCrew(t.Context(), crew))
	must(t, pgjobs.New(s.db.App).CreateCrew(t.Context(), idle))
	other := b.caller.newJob()
	b.giveTo(crew.ID, "2026-03-02", "2026-03-02")
	sheet := b.get("/")
	if north, none := strings.Index(sheet, "<h2>Crew North</h2>"), strings.Index(sheet, "<h2>No crew yet</h2>"); north < 0 || none < north {
		t.Error("the crews stand in another order, or not at all")
	}
	if line := b.lineOf(b.job, "/?crew="+crew.ID.String()); !strings.Contains(line, "planned Mon 2 Mar<") {
		t.Errorf("no planned day: %s", line)
	}
	if alone := b.get("/?crew=" + crew.ID.String()); strings.Contains(alone, other.String()) {
		t.Error("a crew's sheet has another's job")
	}
	if empty := b.get("/?crew=" + idle.ID.String()); !strings.Contains(empty, "This crew has no open job") {
		t.Error("a crew without a job has no word")
	}
	if status, _ := b.tryGet("/?crew=x"); status != 404 {
		t.Errorf("a crew that is none: status %d", status)
	}
	if closed := b.get("/closed"); !strings.Contains(closed, "No job is closed") {
		t.Error("no word where no job is closed")
	}
}

// What is about no job: a phone that has records, and one whose records are lost, a
// jack out of date.
func TestDaySheetFirm(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	store, firm, phone := pgjobs.New(s.db.App), b.caller.firm, newID(t)
	must(t, store.CreateToken(t.Context(), jobs.Token{Firm: firm, ID: newID(t), Hash: hashOf(phone), Name: "Ari's phone", Device: phone, Scope: jobs.ScopePhone, CreatedAt: time.Now()}))
	must(t, store.HearPhone(t.Context(), jobs.Heard{Firm: firm, Device: phone, Seen: jobs.NumbersOf(1, 2, 5), At: time.Now()}))
	must(t, store.SavePhoneReport(t.Context(), firm, phone, jobs.PhoneReport{Version: "1", Unsent: 3, At: time.Now()}))
	must(t, store.CreateJack(t.Context(), jobs.Jack{Firm: firm, ID: newID(t), Name: "red bottle", RatedKN: 50, Upkeep: jobs.Upkeep{InspectedOn: "2020-01-05", DueOn: "2020-07-05"}, CreatedAt: time.Now()}))
	must(t, store.CreateLaser(t.Context(), jobs.Laser{Firm: firm, ID: newID(t), Name: "green", CreatedAt: time.Now()}))
	sheet := html.UnescapeString(b.get("/"))
	for _, want := range []string{"Ari's phone: 2 records never arrived: numbers 3 to 4", "3 records still on it", `href="/kit?jack=red+bottle">Jack red bottle: its inspection has been overdue since 5 July 2020`, "Laser green: no inspection is recorded"} {
		if !strings.Contains(sheet, want) {
			t.Errorf("no %q", want)
		}
	}
}

// hashOf makes a hash of an id that no other test has.
func hashOf(id events.ID) (hash events.Digest) {
	copy(hash[:], id[:])
	return hash
}

// A row that is missing, or of another version, says so, and is there soon.
func TestDaySheetBeingWorkedOut(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	waitListed(t, b.caller, 1)
	old := jobs.Summary{Firm: b.caller.firm, Job: b.job, Seq: 1, Version: jobs.SummaryVersion - 1}
	must(t, pgjobs.New(s.db.App).SaveSummary(t.Context(), old))
	if line := b.lineOf(b.job, "/"); !strings.Contains(line, "Being worked out") || !strings.Contains(line, `data-seq="-1"`) {
		t.Errorf("a row of another version: %s", line)
	}
	if line := b.get("/lines?job=" + b.job.String() + ".1"); !strings.Contains(line, `data-seq="1"`) {
		t.Errorf("the line does not wait for the row: %s", line)
	}
}

// An append is seen by fifty open pages within a second: each is told, and asks for
// the line, which has it.
func TestDaySheetSeenByFifty(t *testing.T) {
	const pages = 50
	s := newSite(t)
	c := s.firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("plan", smallPlan))
	waitListed(t, c, 1)
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	seen := make(chan error, pages)
	var ready sync.WaitGroup
	ready.Add(pages)
	for range pages {
		l, _ := c.listen("/live")
		go func() {
			told := l.next() == head(job, 1)
			ready.Done()
			if told = told && l.next() == head(job, 2); !told {
				seen <- fmt.Errorf("a page was not told")
				return
			}
			seen <- c.sees(ctx, job, 2)
		}()
	}
	ready.Wait()
	began := time.Now()
	c.post(job, d.raw("note", `{"text":"a word"}`))
	for range pages {
		if err := <-seen; err != nil {
			t.Fatal(err)
		}
	}
	if took := time.Since(began); took > time.Second {
		t.Errorf("all of %d pages had it after %v, want a second", pages, took)
	}
}

// sees asks for a job's line and wants it to be as of an event.
func (c *caller) sees(ctx context.Context, job events.ID, seq int64) error {
	r, err := http.NewRequestWithContext(ctx, "GET", fmt.Sprintf("%s/lines?job=%s.%d", c.url, job, seq), nil)
	if err != nil {
		return err
	}
	r.Header.Set("Authorization", "Bearer "+c.token)
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err == nil && !strings.Contains(string(body), fmt.Sprintf(`data-job="%s" data-seq="%d"`, job, seq)) {
		err = fmt.Errorf("%s: %s", resp.Status, body)
	}
	return err
}

// Lines of another firm's jobs are not there, nor those of too many.
func TestSheetLinesRefused(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	theirs := s.firm("Plumb & Sons").newJob()
	for path, want := range map[string]int{
		"/lines?job=" + theirs.String() + ".0":                       404,
		"/lines?job=x":                                               404,
		"/lines?" + strings.Repeat("job="+b.job.String()+"&", 61):    400,
		"/lines?job=" + b.job.String() + ".0&crew=" + b.job.String(): 200,
		"/lines": 200,
	} {
		if status, body := b.tryGet(path); status != want || strings.Contains(body, "data-job") {
			t.Errorf("%.60s: status %d, want %d without a line: %.200s", path, status, want, body)
		}
	}
}

// What waits at a place that is no support of the plan leads to the page of the job:
// the place has none of its own.
func TestDaySheetUndrawn(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	b.caller.post(b.job,
		d.raw("floor-cut", `{"cut":"C1 hall","where":"hall","layers":["boards"]}`),
		d.raw("jacking", `{"moves":[{"support":"B1-2","by":3,"gauge":"rule"}]}`))
	waitListed(t, b.caller, 3)
	line := b.saidOf(b.job, "/")
	for want, href := range map[string]string{
		"C1 hall floor cut not covered, since ": "#danger",
		"B1-2 on a jack, since ":                "/supports/B1-2",
	} {
		m := regexp.MustCompile(`href="([^"]+)">` + want).FindStringSubmatch(line)
		if m == nil || m[1] != b.page("")+href {
			t.Errorf("no %q that leads to %s: %s", want, href, line)
			continue
		}
		b.get(m[1])
	}
}
