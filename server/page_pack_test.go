package server_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os/exec"
	"regexp"
	"slices"
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

// madePack waits for the newest pack of a job to be made, or given up.
func madePack(t *testing.T, store jobs.Store, firm, job events.ID) jobs.Pack {
	t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		all, err := store.ListPacks(t.Context(), firm, job)
		must(t, err)
		if len(all) > 0 && !all[0].Waits() {
			return all[0]
		}
	}
	t.Fatal("no pack was made in a minute")
	return jobs.Pack{}
}

// placed is a photo that says where it was taken, as cameras write it.
func placed(jpeg []byte, where string) []byte {
	says := "Exif\x00\x00GPS CANARY " + where
	return slices.Concat(jpeg[:2], []byte{0xff, 0xe1, 0, byte(2 + len(says))}, []byte(says), jpeg[2:])
}

// packJob is a job with readings, a lift, and a photo before and after.
func packJob(b *browser) *device {
	d := newDevice(b.t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1014))
	b.saved("aim", "", url.Values{"aim": {"highest"}, "step_mm": {"5"}, "neighbour_mm": {"20"}, "agreed_by": {"the owner"}})
	b.caller.post(b.job, d.raw("jacking", `{"moves":[{"support":"B1-2","by":14,"gauge":"rule"}]}`), d.reading(setup, "B1-2", 1001))
	b.saved("note", "", url.Values{"text": {"before"}, "photo-subject": {"B1-2"}, "photo-stage": {"before"}}, placed(picture(b.t), "one"))
	b.saved("note", "", url.Values{"text": {"after"}, "photo-subject": {"B1-2"}, "photo-stage": {"after"}}, placed(picture(b.t), "two"))
	return d
}

// waitPack asks for a pack and waits for it.
func (b *browser) waitPack(paper string) jobs.Pack {
	b.t.Helper()
	if status, body, _ := b.postForm(b.page("/pack"), url.Values{"paper": {paper}}); status != 200 {
		b.t.Fatalf("status %d: %s", status, body)
	}
	return madePack(b.t, pgjobs.New(b.site.db.App), b.caller.firm, b.job)
}

// A pack is asked for, made, and taken away: a PDF of this job that anybody can read.
func TestPackPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	packJob(b)
	wantWords(t, b.get(b.page("/pack")), "Make the pack", "No pack was made of this job yet")
	if status, body, _ := b.postForm(b.page("/pack"), url.Values{"paper": {"parchment"}}); status != 422 || !strings.Contains(body, "A4 or Letter") {
		t.Errorf("status %d: %s", status, body)
	}
	made := b.waitPack("A4")
	if !made.Ready() {
		t.Fatalf("%+v", made)
	}
	page := b.get(b.page("/pack"))
	wantWords(t, page, "Take the pack", fmt.Sprintf("%d pages", made.Pages))
	got := b.fetch(regexp.MustCompile(`/jobs/[^"]*/packs/[^"]*`).FindString(page))
	if got.status != 200 || got.header.Get("Content-Type") != "application/pdf" || !strings.Contains(got.header.Get("Content-Disposition"), "attachment") {
		t.Errorf("status %d: %v", got.status, got.header)
	}
	if !bytes.HasPrefix(got.body, []byte("%PDF-")) || int64(len(got.body)) != made.Bytes {
		t.Errorf("%d bytes, want a PDF of %d", len(got.body), made.Bytes)
	}
}

// pdfText is what a PDF says, without spaces: where its lines end hangs on how wide
// names are.
func pdfText(t *testing.T, file []byte) []byte {
	t.Helper()
	c := exec.Command("pdftotext", "-raw", "-", "-")
	c.Stdin = bytes.NewReader(file)
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("read a PDF of %d bytes: %v: %s", len(file), err, out)
	}
	return bytes.Join(bytes.Fields(out), nil)
}

// file is a pack as it is taken away.
func (b *browser) file(p jobs.Pack) []byte {
	b.t.Helper()
	got := b.fetch(b.page("/packs/" + p.ID.String()))
	if got.status != 200 {
		b.t.Fatalf("status %d: %s", got.status, got.body)
	}
	return got.body
}

// The same is not made twice; what is recorded since makes another one, with its own
// lines, while the one from before stays as it was.
func TestPackIsReused(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := packJob(b)
	first := b.waitPack("A4")
	before := b.file(first)
	if again := b.waitPack("A4"); again.ID != first.ID || !again.Made.Equal(first.Made) {
		t.Errorf("the same pack was made again: %+v", again)
	}
	b.caller.post(b.job, d.raw("finding", `{"what":"a gutter that leaks","supports":["B1-1"]}`))
	wantWords(t, b.get(b.page("/pack")), "1 line recorded since")
	later := b.waitPack("A4")
	if later.ID == first.ID || later.UpTo != first.UpTo+1 {
		t.Errorf("%+v, want one of a line more than %+v", later, first)
	}
	if !bytes.Equal(before, b.file(first)) {
		t.Error("the pack from before is another now")
	}
	if text := string(pdfText(t, b.file(later))); !strings.Contains(text, "agutterthatleaks") || strings.Contains(string(pdfText(t, before)), "agutterthatleaks") {
		t.Error("what was found since is in the pack from before, or not in the one since")
	}
}

// Two servers that make a pack of the same record make the same file.
func TestPackIsTheSameEverywhere(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	packJob(b)
	made := b.waitPack("A4")
	gone, err := pgjobs.New(s.db.App).ForgetPacks(t.Context(), b.caller.firm, b.job, 0)
	if err != nil || len(gone) != 1 {
		t.Fatalf("%v: %d forgotten", err, len(gone))
	}
	if again := b.waitPack("A4"); again.ID == made.ID || again.File != made.File {
		t.Errorf("made again it is %s, and was %s", again.File, made.File)
	}
}

// However many ask at once, one pack is made.
func TestPackAskedByMany(t *testing.T) {
	b := newBrowser(t, newSite(t))
	packJob(b)
	var all sync.WaitGroup
	for range 6 {
		all.Go(func() {
			if a, err := b.caller.tryPage("POST", b.page("/pack"), "paper=Letter"); err != nil || a != 303 {
				t.Errorf("%v: status %d", err, a)
			}
		})
	}
	all.Wait()
	madePack(t, pgjobs.New(b.site.db.App), b.caller.firm, b.job)
	if list, err := pgjobs.New(b.site.db.App).ListPacks(t.Context(), b.caller.firm, b.job); err != nil || len(list) != 1 {
		t.Errorf("%v: %d packs", err, len(list))
	}
	if made := strings.Count(b.site.log.String(), "a pack was made"); made != 1 {
		t.Errorf("it was made %d times", made)
	}
}

// tryPage asks for a page with the firm's token and follows nothing.
func (c *caller) tryPage(method, path, form string) (status int, err error) {
	r, err := http.NewRequestWithContext(c.t.Context(), method, c.url+path, strings.NewReader(form))
	if err != nil {
		return 0, err
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Authorization", "Bearer "+c.token)
	resp, err := http.DefaultTransport.RoundTrip(r)
	if err != nil {
		return 0, err
	}
	return resp.StatusCode, resp.Body.Close()
}

// fullObjects keep photos and refuse what is made while full is set.
type fullObjects struct {
	events.Objects
	full atomic.Bool
}

func (o *fullObjects) Put(ctx context.Context, of events.Object, body io.ReaderAt) (told bool, err error) {
	if o.full.Load() && of.Key.Size == events.Made {
		return false, fmt.Errorf("%w: no room is left", events.ErrUnavailable)
	}
	return o.Objects.Put(ctx, of, body)
}

// A pack that cannot be made says so, and can be asked for again.
func TestPackFailsAndIsAskedAgain(t *testing.T) {
	var objects fullObjects
	b := newBrowser(t, newSite(t, func(c *server.Config) {
		objects.Objects = c.Photos.Objects
		c.Photos.Objects = &objects
	}))
	packJob(b)
	objects.full.Store(true)
	if failed := b.waitPack("A4"); failed.Failed == "" || failed.Ready() {
		t.Fatalf("%+v, want one that failed", failed)
	}
	wantWords(t, b.get(b.page("/pack")), "Not made.", "Ask for it again")
	if got := b.fetch(b.page("/packs/" + newID(t).String())); got.status != 404 {
		t.Errorf("a pack that is not there: status %d", got.status)
	}
	objects.full.Store(false)
	if again := b.waitPack("A4"); !again.Ready() {
		t.Errorf("%+v, want it made", again)
	}
}

// Older packs go with their files, and no more is kept than a few of each paper.
func TestOldPacksGo(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	d := packJob(b)
	first := b.waitPack("A4")
	for i := range 4 {
		b.caller.post(b.job, d.raw("note", fmt.Sprintf(`{"text":"note %d"}`, i)))
		b.waitPack("A4")
	}
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		if got := b.fetch(b.page("/packs/" + first.ID.String())); got.status == 404 {
			break
		}
		if time.Now().After(end) {
			t.Fatal("the first of five packs is still there")
		}
	}
	if list, err := pgjobs.New(s.db.App).ListPacks(t.Context(), b.caller.firm, b.job); err != nil || len(list) != 4 {
		t.Errorf("%v: %d packs are kept", err, len(list))
	}
}

// A photo with its place and its camera in it is printed without them.
func TestPackHasNoPlaces(t *testing.T) {
	b := newBrowser(t, newSite(t))
	packJob(b)
	file := b.file(b.waitPack("A4"))
	if !bytes.Contains(file, []byte("/DCTDecode")) {
		t.Fatal("no photo is in the pack")
	}
	for _, word := range []string{"Exif", "GPS", "CANARY"} {
		if bytes.Contains(file, []byte(word)) {
			t.Errorf("the pack has %q", word)
		}
	}
}
