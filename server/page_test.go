package server_test

import (
	"bytes"
	"errors"
	"fmt"
	"html"
	"image"
	"image/jpeg"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pglog"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server"
	"relevel/server/pictures"
)

// browser goes from page to page as a person does, without scripts.
type browser struct {
	t      *testing.T
	site   *site
	caller *caller
	job    events.ID
	person events.ID
	client *http.Client
}

// newBrowser enters for a firm that has one person and one job with the small plan.
func newBrowser(t *testing.T, s *site) *browser {
	t.Helper()
	jar, err := cookiejar.New(nil)
	must(t, err)
	b := &browser{t: t, site: s, caller: s.firm("Level & Sons"), client: &http.Client{Jar: jar}, person: newID(t)}
	must(t, pgjobs.New(s.db.App).CreatePerson(t.Context(), jobs.Person{Firm: b.caller.firm, ID: b.person, Name: "Mere Kohu", Role: jobs.SiteLead, CreatedAt: time.Now()}))
	b.job = b.caller.newJob()
	b.caller.post(b.job, newDevice(t, b.job).raw("plan", smallPlan))
	b.post("/enter", url.Values{"token": {b.caller.token}})
	return b
}

func (b *browser) do(r *http.Request) (status int, body string, at *url.URL) {
	b.t.Helper()
	r.Header.Set("Accept", "text/html")
	resp, err := b.client.Do(r)
	must(b.t, err)
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	must(b.t, err)
	return resp.StatusCode, string(text), resp.Request.URL
}

func (b *browser) get(path string) string {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), "GET", b.site.URL+path, nil)
	must(b.t, err)
	status, body, _ := b.do(r)
	if status != 200 {
		b.t.Fatalf("GET %s: status %d: %s", path, status, body)
	}
	return body
}

func (b *browser) post(path string, form url.Values, photos ...[]byte) (status int, body string, at *url.URL) {
	b.t.Helper()
	var text bytes.Buffer
	w := multipart.NewWriter(&text)
	for name, values := range form {
		for _, v := range values {
			must(b.t, w.WriteField(name, v))
		}
	}
	for i, photo := range photos {
		part, err := w.CreateFormFile("photo", fmt.Sprintf("%d.jpg", i))
		must(b.t, err)
		_, err = part.Write(photo)
		must(b.t, err)
	}
	must(b.t, w.Close())
	r, err := http.NewRequestWithContext(b.t.Context(), "POST", b.site.URL+path, &text)
	must(b.t, err)
	r.Header.Set("Content-Type", w.FormDataContentType())
	return b.do(r)
}

// record opens a form, fills it in and sends it.
func (b *browser) record(kind, query string, fill url.Values, photos ...[]byte) (status int, body string, at *url.URL) {
	b.t.Helper()
	path := b.page("/record/" + kind)
	form := hidden(b.get(path + query))
	form.Set("recorder", b.person.String())
	for name, values := range fill {
		form[name] = values
	}
	return b.post(path, form, photos...)
}

// saved records and wants it saved.
func (b *browser) saved(kind, query string, fill url.Values, photos ...[]byte) (body string) {
	b.t.Helper()
	status, body, at := b.record(kind, query, fill, photos...)
	if status != 200 || !at.Query().Has("saved") || !strings.Contains(body, `role="status">Saved.`) {
		b.t.Fatalf("%s: status %d at %s, want it saved: %s", kind, status, at, body)
	}
	return body
}

func (b *browser) page(path string) string { return "/jobs/" + b.job.String() + path }

var hiddenInput = regexp.MustCompile(`<input type="hidden" name="([^"]+)" value="([^"]*)">`)

// hidden reads what a form carries without showing it.
func hidden(page string) url.Values {
	form := url.Values{}
	for _, m := range hiddenInput.FindAllStringSubmatch(page, -1) {
		form.Add(m[1], strings.ReplaceAll(m[2], "&amp;", "&"))
	}
	return form
}

// optionOf finds the value of the first choice of a select that holds words.
func optionOf(t *testing.T, page, words string) string {
	t.Helper()
	m := regexp.MustCompile(`<option value="([^"]+)"[^>]*>[^<]*` + regexp.QuoteMeta(words)).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("nothing to choose with %q in %s", words, page)
	}
	return m[1]
}

// A whole round at one support is recorded on pages alone.
func TestPagesRecordARound(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.saved("aim", "", url.Values{"aim": {"level"}, "height": {"0"}, "face": {"floor"}, "tolerance.within_mm": {"2"}, "agreed_by": {"the owner"}})
	b.saved("setup", "", url.Values{"instrument": {"laser"}, "datums[0].staff": {"1000"}})
	setup := optionOf(t, b.get(b.page("/record/reading")), "laser")
	read := func(staff string) string {
		return b.saved("reading", "?support=B1-1", url.Values{"setup": {setup}, "face": {"floor"}, "rows[0].staff": {staff}})
	}
	if body := read("1012"); !strings.Contains(body, "B1-1: 12 to go") {
		t.Errorf("after the first reading the page does not say 12 to go: %s", body)
	}
	waitListed(t, b.caller, 4)
	if sheet := b.get("/"); !strings.Contains(sheet, `<b>&#43;12</b> <span class="pm">±1</span>`) {
		t.Error("the day sheet does not say the greatest lift with its ±")
	}
	b.saved("jacking", "?support=B1-1", url.Values{"moves[0].by": {"12"}, "moves[0].gauge": {"rule"}})
	if page := b.get(b.page("")); !strings.Contains(page, "on a jack") || strings.Index(page, `id="danger"`) > strings.Index(page, `id="floor"`) {
		t.Error("what is left on a jack does not stand at the top")
	}
	photo := picture(t)
	b.saved("packing", "?support=B1-1", url.Values{"sort": {"final"}, "pieces[0].thickness": {"12"}, "full_width": {"yes"}, "support": {"B1-1"}, "photo-stage": {"after"}}, photo)
	b.saved("jack-down", "?support=B1-1", url.Values{"support": {"B1-1"}})
	b.saved("support-work", "?support=B1-1", url.Values{"support": {"B1-1"}, "step": {"fixed"}})
	read("1000")
	b.saved("signed", "?support=B1-1", url.Values{"support": {"B1-1"}})
	s, _ := b.caller.state(b.job).Support("B1-1")
	if s.State != jobs.IsSigned || s.Signature.By != b.person {
		t.Errorf("B1-1 is %s by %v, want it signed by %s; missing %v", s.State, s.Signature, b.person, s.Missing)
	}
	book := b.get(b.page("/book"))
	address := regexp.MustCompile(`src="(/api/v1/photos/[^"]+)"`).FindStringSubmatch(book)
	if address == nil {
		t.Fatalf("the book shows no photo: %s", book)
	}
	b.get(strings.ReplaceAll(address[1], "&amp;", "&"))
	if !strings.Contains(b.get(b.page("/supports/B1-1")), "MK") {
		t.Error("the section does not show who signed")
	}
}

func picture(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	must(t, jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 640, 480)), nil))
	return b.Bytes()
}

// A second press of the button stores nothing; the same form changed is new.
func TestPagesStoreOnce(t *testing.T) {
	b := newBrowser(t, newSite(t))
	path := b.page("/record/note")
	form := hidden(b.get(path))
	form.Set("recorder", b.person.String())
	form.Set("text", "damp here")
	before := b.caller.state(b.job).Seq
	for range 3 {
		if status, body, at := b.post(path, form); status != 200 || !at.Query().Has("saved") {
			t.Fatalf("status %d: %s", status, body)
		}
	}
	if got := b.caller.state(b.job).Seq - before; got != 1 {
		t.Errorf("three presses stored %d events, want 1", got)
	}
	form.Set("text", "damp there too")
	b.post(path, form)
	if got := b.caller.state(b.job).Seq - before; got != 2 {
		t.Errorf("a changed form makes %d events, want 2", got)
	}
}

// What is wrong stands at its field, and everything typed is kept.
func TestPagesKeepWhatWasTyped(t *testing.T) {
	b := newBrowser(t, newSite(t))
	status, body, _ := b.record("gap-reading", "", url.Values{"gap": {"over the <door>"}, "what": {"crack"}, "width": {"9999"}, "near": {"hall"}})
	if status != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", status)
	}
	for _, want := range []string{`value="over the &lt;door&gt;"`, `value="9999"`, `value="hall"`, `id="f-width-wrong">between 0 and 1000 mm, not 9999`} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %s in %s", want, body)
		}
	}
	form := hidden(b.get(b.page("/record/note")))
	form.Set("text", "nobody")
	if status, body, _ := b.post(b.page("/record/note"), form); status != http.StatusUnprocessableEntity || !strings.Contains(body, "who records this") {
		t.Errorf("a form without a person: status %d: %s", status, body)
	}
	if status, body, _ := b.record("plan", "", url.Values{"document": {`{"supports":[{"id":"A","x":9999}]}`}}); status != http.StatusUnprocessableEntity || !strings.Contains(body, "supports[0].x") {
		t.Errorf("a plan that is wrong: status %d: %s", status, body)
	}
}

// With the store of photos away the event is taken, and the page says what is not kept.
func TestPagesWithoutPhotoStore(t *testing.T) {
	away := errors.New("away")
	s := newSite(t, func(c *server.Config) {
		c.Photos.Objects = &eventstest.MemObjects{Before: func(string) error { return fmt.Errorf("%w: %w", events.ErrUnavailable, away) }}
		c.Album = pictures.NewAlbum(c.Photos, pictures.NewMaker(pictures.DefaultMemory))
	})
	b := newBrowser(t, s)
	body := b.saved("note", "", url.Values{"text": {"a photo"}}, picture(t))
	if !strings.Contains(body, "The photo is not kept") {
		t.Errorf("the page does not say that the photo is not kept: %s", body)
	}
	if got := b.caller.state(b.job).Lists.Notes; len(got) != 1 {
		t.Errorf("%d notes, want 1", len(got))
	}
}

func TestPagesRefusePhotosThatAreNone(t *testing.T) {
	b := newBrowser(t, newSite(t))
	status, body, _ := b.record("note", "", url.Values{"text": {"x"}}, []byte("no picture at all, only words"))
	if status != http.StatusUnprocessableEntity || !strings.Contains(body, "is no JPEG") {
		t.Errorf("status %d: %s", status, body)
	}
	if n := len(b.caller.state(b.job).Lists.Notes); n != 0 {
		t.Errorf("%d notes, want none", n)
	}
}

func TestPagesVoid(t *testing.T) {
	b := newBrowser(t, newSite(t))
	b.saved("note", "", url.Values{"text": {"a slip"}})
	href := regexp.MustCompile(`class="void" href="/jobs/[^/]+/record/void(\?event=[^"]+)"`).FindAllStringSubmatch(b.get(b.page("/book")), -1)
	if len(href) != 2 { // the plan and the note
		t.Fatalf("%d lines can be voided, want 2", len(href))
	}
	body := b.saved("void", html.UnescapeString(href[1][1]), url.Values{"why": {"mistyped"}})
	if !strings.Contains(body, "Void: mistyped") || !strings.Contains(body, `class="struck"`) {
		t.Errorf("the book does not strike the line: %s", body)
	}
}

// Who has not entered is led to where one does; another firm's job is nothing.
func TestPagesAreForTheFirm(t *testing.T) {
	s := newSite(t)
	b, other := newBrowser(t, s), newBrowser(t, s)
	stranger := &browser{t: t, site: s, client: &http.Client{}}
	for _, path := range []string{"/", b.page(""), b.page("/book"), b.page("/supports/B1-1"), b.page("/moves"), b.page("/record/note")} {
		r, _ := http.NewRequestWithContext(t.Context(), "GET", s.URL+path, nil)
		if _, _, at := stranger.do(r); at.Path != "/enter" {
			t.Errorf("a stranger at %s lands at %s", path, at)
		}
		r, _ = http.NewRequestWithContext(t.Context(), "GET", s.URL+path, nil)
		if status, _, _ := other.do(r); path != "/" && status != 404 {
			t.Errorf("another firm at %s: status %d, want 404", path, status)
		}
	}
	if status, _, _ := other.post(b.page("/record/note"), url.Values{"text": {"x"}}); status != 404 {
		t.Errorf("another firm records: status %d, want 404", status)
	}
	status, body, _ := stranger.post("/enter", url.Values{"token": {"rl_nonsense"}})
	if status != http.StatusUnprocessableEntity || strings.Contains(body, "rl_nonsense") {
		t.Errorf("a wrong access: status %d: %s", status, body)
	}
	b.post("/leave", nil)
	r, _ := http.NewRequestWithContext(t.Context(), "GET", s.URL+"/", nil)
	if _, _, at := b.do(r); at.Path != "/enter" {
		t.Errorf("after leaving one lands at %s", at)
	}
	if strings.Contains(s.log.String(), b.caller.token) {
		t.Error("the log holds an access")
	}
}

// Every form opens, back leads to the job whatever an address says, and no
// page runs anything the policy would refuse.
func TestPagesAll(t *testing.T) {
	b := newBrowser(t, newSite(t))
	paths := []string{"/", b.page(""), b.page("?turn=3"), b.page("/book"), b.page("/book?support=B1-1"), b.page("/book?at=1"), b.page("/supports/B1-1"), b.page("/lines"), b.page("/shading?turn=1")}
	for _, k := range events.Kinds() {
		if k == events.KindVoid || k.OfCommand() { // led to by a line of the book; recorded by no page
			continue
		}
		paths = append(paths, b.page("/record/"+string(k)), b.page("/record/"+string(k)+"?support=B1-1"))
	}
	inline := regexp.MustCompile(`(?i)\sstyle=|<style|\son[a-z]+=|<script>|javascript:`)
	for _, path := range paths {
		body := b.get(path)
		if bad := inline.FindString(body); bad != "" {
			t.Errorf("%s holds %q, which the policy refuses", path, bad)
		}
		if !strings.Contains(body, "</html>") {
			t.Errorf("%s is no whole page", path)
		}
	}
	for _, back := range []string{"https://elsewhere.example/", "//elsewhere.example/", "/jobs/" + newID(t).String(), "javascript:alert(1)"} {
		form := hidden(b.get(b.page("/record/note?back=" + url.QueryEscape(back))))
		if got := form.Get("back"); got != b.page("") {
			t.Errorf("back to %q leads to %q", back, got)
		}
	}
}

// A book of thousands of lines comes in pages.
func TestPagesOfTheBook(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	for range 3 {
		var raws []string
		for i := range 150 {
			raws = append(raws, d.raw("note", fmt.Sprintf(`{"text":"line %d","supports":["B1-1"]}`, i)))
		}
		b.caller.post(b.job, raws...)
	}
	page := b.get(b.page("/book"))
	if !strings.Contains(page, "Lines 252 to 451 of 451") {
		t.Errorf("the last page of the book is another: %.1500s", page)
	}
	earlier := regexp.MustCompile(`href="([^"]+)">Earlier`).FindStringSubmatch(page)
	if earlier == nil || !strings.Contains(b.get(strings.ReplaceAll(earlier[1], "&amp;", "&")), "Lines 52 to 251 of 451") {
		t.Errorf("Earlier leads elsewhere: %v", earlier)
	}
	page = b.get(b.page("/book?support=B1-1"))
	if !strings.Contains(page, "Of lines 252 to 451, 200 fit") {
		t.Errorf("the last lines of a support are others: %.1500s", page)
	}
	for _, want := range []string{"Of lines 52 to 251,", "Of lines 1 to 51,"} {
		earlier := regexp.MustCompile(`href="([^"]+)">Earlier`).FindStringSubmatch(page)
		if earlier == nil {
			t.Fatalf("no way to %s", want)
		}
		if page = b.get(html.UnescapeString(earlier[1])); !strings.Contains(page, want) {
			t.Errorf("Earlier does not lead to %s", want)
		}
	}
	if strings.Contains(page, ">Earlier") {
		t.Error("there is something before the first line")
	}
	if page := b.get(b.page("/book?support=S1")); !strings.Contains(page, "None among lines 1 to 451 of 451") {
		t.Errorf("a place nothing was said about: %.1500s", page)
	}
}

// However many lines there are, a form knows the last reading of a support, and
// one that was voided is none.
func TestSignRestsOnTheLastReading(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw)
	b.caller.post(b.job, d.reading(setup, "B1-1", 1012), d.reading(setup, "B1-1", 1011))
	for range 3 {
		var raws []string
		for i := range 200 {
			raws = append(raws, d.raw("note", fmt.Sprintf(`{"text":"line %d"}`, i)))
		}
		b.caller.post(b.job, raws...)
	}
	sign := b.get(b.page("/record/signed?support=B1-1"))
	if !strings.Contains(sign, "floor staff 1011") || strings.Contains(sign, "staff 1012") {
		t.Errorf("the last reading is another: %s", sign)
	}
	last := optionOf(t, sign, "1011")
	b.caller.post(b.job, d.raw("void", fmt.Sprintf(`{"event":%q,"why":"slip"}`, last)))
	if sign := b.get(b.page("/record/signed?support=B1-1")); !strings.Contains(sign, "floor staff 1012") {
		t.Errorf("with that one voided the last reading is another: %s", sign)
	}
}

func TestStatic(t *testing.T) {
	b := newBrowser(t, newSite(t))
	addresses := regexp.MustCompile(`"(/static/[^"]+)"`).FindAllStringSubmatch(b.get("/"), -1)
	var names []string
	for _, a := range addresses {
		name := strings.Split(path.Base(a[1]), ".")
		names = append(names, name[0]+"."+name[len(name)-1])
	}
	if diff := cmp.Diff([]string{"mark.svg", "pages.css", "pages.js"}, names); diff != "" {
		t.Fatalf("static files on the page (-want +got):\n%s", diff)
	}
	for _, a := range addresses {
		resp, err := http.Get(b.site.URL + a[1])
		must(t, err)
		resp.Body.Close()
		if resp.StatusCode != 200 || !strings.Contains(resp.Header.Get("Cache-Control"), "immutable") {
			t.Errorf("%s: status %d, kept %q", a[1], resp.StatusCode, resp.Header.Get("Cache-Control"))
		}
	}
	resp, err := http.Get(b.site.URL + "/static/page.000000000000.css")
	must(t, err)
	resp.Body.Close()
	if resp.StatusCode != 404 {
		t.Errorf("an old address: status %d, want 404", resp.StatusCode)
	}
}

// The desk numbers what it records without a gap.
func TestDeskCounts(t *testing.T) {
	b := newBrowser(t, newSite(t))
	for i := range 3 {
		b.saved("note", "", url.Values{"text": {fmt.Sprint(i)}})
	}
	stored, err := pglog.New(b.site.db.App).Read(t.Context(), b.caller.firm, b.job, 1, 10)
	must(t, err)
	var counts []int64
	for _, e := range stored {
		counts = append(counts, e.DeviceSeq)
		if e.Device != stored[0].Device || e.By != b.person || e.SeenSeq != e.Seq-1 {
			t.Errorf("event %d: device %s, by %s, seen %d", e.Seq, e.Device, e.By, e.SeenSeq)
		}
	}
	if !slices.Equal(counts, []int64{1, 2, 3}) {
		t.Errorf("the desk counted %v", counts)
	}
}

// What was saved is said to the firm that saved it.
func TestSavedIsNobodyElses(t *testing.T) {
	s := newSite(t)
	b, other := newBrowser(t, s), newBrowser(t, s)
	b.saved("aim", "", url.Values{"aim": {"level"}, "height": {"0"}, "agreed_by": {"the owner"}})
	b.saved("setup", "", url.Values{"instrument": {"laser"}, "datums[0].staff": {"1000"}})
	setup := optionOf(t, b.get(b.page("/record/reading")), "laser")
	_, body, at := b.record("reading", "?support=B1-1", url.Values{"setup": {setup}, "face": {"floor"}, "rows[0].staff": {"1012"}})
	if !strings.Contains(body, "B1-1: 12 to go") {
		t.Fatalf("not saved: %s", body)
	}
	if body := other.get(other.page("?saved=" + at.Query().Get("saved"))); strings.Contains(body, "12 to go") {
		t.Error("another firm reads what was saved")
	}
}
