package server_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs/sheet"
	"relevel/server"
)

const bookFile = "setup,date,time,sight,point,face,staff mm,by,instrument\n1,2026-03-02,14:00,bs,D1,,1000,,laser\n1,,14:05,is,B1-1,floor,1012,Mere Kohu,\n1,,14:06,is,B1-2,floor,1008.5,,\n1,,14:20,fs,D1,,1000,,\n"

type bookCame struct {
	Lines  []sheet.BookLine
	Faults []sheet.Fault
	Events int
	Stored int
}

func (b *browser) bookIn(query, file string, status int) (got bookCame) {
	b.t.Helper()
	b.caller.send("POST", "/jobs/"+b.job.String()+"/book/import?by="+b.person.String()+query, []byte(file), "Content-Type", "text/csv").want(b.t, status, &got)
	return got
}

// A book over the API: first tried, then recorded, then recorded already; what goes
// out comes in and adds nothing.
func TestBookImport(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, newSite(t))
	if tried := b.bookIn("&try=1", bookFile, 200); tried.Events != 4 || tried.Stored != 0 || b.caller.state(b.job).Seq != 1 {
		t.Errorf("tried: %+v", tried)
	}
	if got := b.bookIn("", bookFile, 200); got.Stored != 4 || *got.Lines[1].Height != -12 {
		t.Errorf("%+v, want 4 stored and -12", got)
	}
	if s, _ := b.caller.state(b.job).Support("B1-2"); s.Present == nil || s.Present.MM != -8.5 {
		t.Errorf("B1-2 lies at %+v, want -8.5", s.Present)
	}
	if again := b.bookIn("", bookFile, 200); again.Events != 0 || again.Lines[3].Seq != 5 {
		t.Errorf("again: %+v", again)
	}
	out := b.caller.send("GET", "/jobs/"+b.job.String()+"/book.csv", nil).want(t, 200, nil)
	if got := b.bookIn("", string(out.body), 200); got.Events != 0 || len(got.Lines) != 4 {
		t.Errorf("%+v of\n%s", got, out.body)
	}
	wrong := b.bookIn("", strings.ReplaceAll(bookFile, "B1-2", "B9-9"), 422)
	if len(wrong.Faults) != 1 || wrong.Faults[0].Line != 4 || b.caller.state(b.job).Seq != 5 {
		t.Errorf("%+v, and nothing may be recorded", wrong.Faults)
	}
	var nobody bookCame
	b.caller.send("POST", "/jobs/"+b.job.String()+"/book/import", []byte(bookFile), "Content-Type", "text/csv").want(t, 422, &nobody)
	if len(nobody.Faults) != 1 || nobody.Faults[0].Column != "by" {
		t.Errorf("%+v, want who recorded it asked for", nobody.Faults)
	}
}

// A plan comes in once, and the same again changes nothing.
func TestPlanImport(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, newSite(t))
	path := "/jobs/" + b.job.String() + "/plan/import?by=" + b.person.String()
	out := b.caller.send("GET", "/jobs/"+b.job.String()+"/plan.csv", nil).want(t, 200, nil)
	var got struct {
		Same   bool
		Stored int
		Faults []sheet.Fault
	}
	b.caller.send("POST", path, out.body, "Content-Type", "text/csv").want(t, 200, &got)
	if !got.Same || got.Stored != 0 {
		t.Errorf("its own plan: %+v", got)
	}
	more := string(out.body) + "spot,S2,1,1\r\n"
	b.caller.send("POST", path+"&try=1", []byte(more), "Content-Type", "text/csv").want(t, 200, &got)
	if got.Same || got.Stored != 0 {
		t.Errorf("tried: %+v", got)
	}
	b.caller.send("POST", path, []byte(more), "Content-Type", "text/csv").want(t, 200, &got)
	if plan := b.caller.state(b.job).Plan; got.Stored != 1 || len(plan.Spots) != 2 {
		t.Errorf("%+v, spots %v", got, plan.Spots)
	}
	b.caller.send("POST", path, []byte(more+"spot,S2,1,1\n"), "Content-Type", "text/csv").want(t, 422, &got)
	if len(got.Faults) != 1 || got.Faults[0].Line != 8 {
		t.Errorf("%+v", got.Faults)
	}
}

// sendFile sends the form of an import.
func (b *browser) sendFile(path string, form url.Values, file string) (status int, body string, at *url.URL) {
	b.t.Helper()
	var text bytes.Buffer
	w := multipart.NewWriter(&text)
	for name := range form {
		must(b.t, w.WriteField(name, form.Get(name)))
	}
	if file != "" {
		part, err := w.CreateFormFile("file", "sheet.csv")
		must(b.t, err)
		_, err = part.Write([]byte(file))
		must(b.t, err)
	}
	must(b.t, w.Close())
	r, err := http.NewRequestWithContext(b.t.Context(), "POST", b.site.URL+path, &text)
	must(b.t, err)
	r.Header.Set("Content-Type", w.FormDataContentType())
	return b.do(r)
}

// The page shows first, line by line, and records what was shown.
func TestBookImportPage(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, newSite(t))
	b.get(b.page("/sheets"))
	path := b.page("/book/import")
	if page := b.get(path); !strings.Contains(page, "/sheets/book.csv") || !strings.Contains(page, "All columns") {
		t.Errorf("the page says not how a book is written: %s", page)
	}
	by := url.Values{"recorder": {b.person.String()}}
	if status, page, _ := b.sendFile(path, url.Values{}, bookFile); status != 422 || !strings.Contains(page, "missing: who records this") {
		t.Errorf("status %d without a recorder: %s", status, page)
	}
	if status, page, _ := b.sendFile(path, by, ""); status != 422 || !strings.Contains(page, "choose a CSV file") {
		t.Errorf("status %d without a file: %s", status, page)
	}
	status, page, _ := b.sendFile(path, by, strings.ReplaceAll(bookFile, "1008.5", "wet"))
	if status != 422 || !strings.Contains(page, "a number, such as 12.5 or 12,5") || strings.Contains(page, "Record them") {
		t.Errorf("status %d: %s", status, page)
	}
	status, page, _ = b.sendFile(path, by, bookFile)
	if status != 200 || !strings.Contains(page, "To be recorded: 1 set-up, 2 readings, 1 closing") || !strings.Contains(page, "−8.5") {
		t.Fatalf("status %d: %s", status, page)
	}
	if seq := b.caller.state(b.job).Seq; seq != 1 {
		t.Fatalf("looking recorded something: seq %d", seq)
	}
	meant := hidden(page)
	for range 2 { // a double press
		if status, page, at := b.sendFile(path, meant, ""); status != 200 || !strings.HasSuffix(at.Path, "/book") {
			t.Fatalf("status %d at %s: %s", status, at, page)
		}
	}
	if seq := b.caller.state(b.job).Seq; seq != 5 {
		t.Errorf("seq %d, want 5", seq)
	}
}

func TestPlanImportPage(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, newSite(t))
	path, by := b.page("/plan/import"), url.Values{"recorder": {b.person.String()}}
	b.get(path)
	status, page, _ := b.sendFile(path, by, sheet.PlanExample)
	for _, want := range []string{"As it is", "As the sheet has it", "Not on it any more: S1", "Put it in"} {
		if status != 200 || !strings.Contains(page, want) {
			t.Fatalf("status %d, without %q: %s", status, want, page)
		}
	}
	if status, _, at := b.sendFile(path, hidden(page), ""); status != 200 || at.Path != b.page("") {
		t.Fatalf("status %d at %s", status, at)
	}
	if plan := b.caller.state(b.job).Plan; len(plan.Rooms) != 1 {
		t.Errorf("%+v", plan)
	}
	if _, page, _ := b.sendFile(path, by, sheet.PlanExample); !strings.Contains(page, "It is the plan that there is") {
		t.Errorf("the same plan again: %s", page)
	}
}

// What is no sheet gets a clear answer, however large it is.
func TestImportOfWhatIsNoSheet(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, newSite(t))
	by := url.Values{"recorder": {b.person.String()}}
	for name, tt := range map[string]struct{ file, want string }{
		"Workbook": {"PK\x03\x04...", "save the sheet as CSV UTF-8"},
		"Binary":   {"\x00\x01", "this is no text"},
		"Large":    {strings.Repeat("x,", 50<<20), "at most 2 MiB"},
		"Columns":  {strings.Repeat("a,", 1000), "at most 60"},
	} {
		status, page, _ := b.sendFile(b.page("/book/import"), by, tt.file)
		if !strings.Contains(strings.ToLower(page), strings.ToLower(tt.want)) || status != 422 {
			t.Errorf("%s: status %d, want %q", name, status, tt.want)
		}
	}
	if status, _, _ := b.post(b.page("/book/import"), url.Values{}); status != 422 {
		t.Errorf("an empty form: status %d", status)
	}
	if status, _, _ := b.sendFile(b.page("/plan/import"), by, "a"+strings.Repeat(" ", 2<<20)); status != 422 {
		t.Errorf("a plan of spaces: status %d", status)
	}
}

// failing is a log that stores so many batches and then does not answer.
type failing struct {
	events.Log
	left int
}

func (f *failing) Append(ctx context.Context, b events.Batch) (events.Receipt, error) {
	if f.left == 0 {
		return events.Receipt{}, fmt.Errorf("%w: pulled out", events.ErrUnavailable)
	}
	f.left--
	return f.Log.Append(ctx, b)
}

// A run of three batches breaks off after the first; the same file goes on.
func TestBookImportBreaksOff(t *testing.T) {
	t.Parallel()
	var log *failing
	b := newBrowser(t, newSite(t, func(c *server.Config) {
		if log == nil { // one for all servers of a fleet
			log = &failing{c.Log, -1}
		}
		c.Log = log
	}))
	long := bookFile
	for i := range 1200 {
		long += fmt.Sprintf("1,,%02d:%02d:%02d,is,S1,floor,%d,,\n", 15+i/3600, i/60%60, i%60, 1000+i%7)
	}
	by := url.Values{"recorder": {b.person.String()}}
	_, page, _ := b.sendFile(b.page("/book/import"), by, long)
	meant := hidden(page)
	log.left = 1
	status, page, _ := b.sendFile(b.page("/book/import"), meant, "")
	if status != 503 || !strings.Contains(page, "500 of 1204 are recorded") {
		t.Fatalf("status %d: %.2000s", status, page)
	}
	log.left = -1
	if status, _, at := b.sendFile(b.page("/book/import"), hidden(page), ""); status != 200 || !strings.HasSuffix(at.Path, "/book") {
		t.Fatalf("status %d at %s", status, at)
	}
	if seq := b.caller.state(b.job).Seq; seq != 1205 {
		t.Errorf("seq %d, want the plan and 1204", seq)
	}
	var apart struct{ Quarantine []json.RawMessage }
	b.caller.get("/quarantine", &apart)
	if len(apart.Quarantine) > 0 {
		t.Errorf("%d were kept apart", len(apart.Quarantine))
	}
}

// unread is a log that stops answering readers.
type unread struct {
	events.Log
	broken atomic.Bool
}

func (u *unread) Read(ctx context.Context, firm, job events.ID, after int64, limit int) ([]events.Stored, error) {
	if u.broken.Load() {
		return nil, fmt.Errorf("%w: pulled out", events.ErrUnavailable)
	}
	return u.Log.Read(ctx, firm, job, after, limit)
}

// A book that cannot be read to its end is no shorter book.
func TestBookOutIsWholeOrNothing(t *testing.T) {
	t.Parallel()
	var log *unread
	b := newBrowser(t, newSite(t, func(c *server.Config) {
		if log == nil { // one for all servers of a fleet
			log = &unread{Log: c.Log}
		}
		c.Log = log
	}))
	b.bookIn("", bookFile, 200)
	b.caller.send("GET", "/jobs/"+b.job.String()+"/book.csv", nil).want(t, 200, nil)
	log.broken.Store(true)
	a := b.caller.send("GET", "/jobs/"+b.job.String()+"/book.csv", nil)
	if a.status != 503 || a.header.Get("Content-Disposition") != "" {
		t.Errorf("status %d: %s", a.status, a.body)
	}
}

// The pages in a browser, at both widths, with axe.
func TestSheetsInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	b := newBrowser(t, newSite(t))
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "sheets.js"))
	run.Env = append(os.Environ(), "SITE="+siteJSON(t, b, chromium), "PERSON="+b.person.String())
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s\nthe server's log:\n%s", err, out, b.site.log)
	}
}
