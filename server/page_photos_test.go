package server_test

import (
	"crypto/sha256"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// wantWords wants all of some words on a page, in their order.
func wantWords(t *testing.T, page string, words ...string) {
	t.Helper()
	rest := page
	for _, w := range words {
		_, after, found := strings.Cut(rest, w)
		if !found {
			t.Fatalf("no %q in its turn in: %s", w, page)
		}
		rest = after
	}
}

// wantNone wants none of some words on a page.
func wantNone(t *testing.T, page string, words ...string) {
	t.Helper()
	for _, w := range words {
		if strings.Contains(page, w) {
			t.Errorf("%q should not be there: %s", w, page)
		}
	}
}

// Photos stand by what they show, before and after beside one another; what has
// not arrived says so, and each opens large with what it belongs to.
func TestPhotosPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	if page := b.get(b.page("/photos")); !strings.Contains(page, "No photo yet") {
		t.Error("an empty album does not say how to begin")
	}
	b.saved("note", "", url.Values{"text": {"as it was"}, "photo-subject": {"B1-2"}, "photo-stage": {"before"}}, picture(t))
	d := newDevice(t, b.job)
	away := sha256.Sum256([]byte("still on the phone"))
	raw := strings.Replace(d.raw("support-work", `{"support":"B1-1","step":"fixed"}`), `"body":`,
		fmt.Sprintf(`"files":[{"type":"photo","sha256":"%x","bytes":9,"media_type":"image/jpeg","stage":"after"}],"body":`, away), 1)
	b.caller.post(b.job, raw)

	page := b.get(b.page("/photos"))
	wantWords(t, page, ", 2, 1 not here yet", "<h2>B1-1", "no print before", "After</h3>", "Not here yet", "<h2>B1-2", "no print after", "Before</h3>", "size=320", `alt="Photo of B1-2, before, `)
	wantNone(t, b.get(b.page("/photos?of=B1-1")), "<h2>B1-2")
	wantWords(t, b.get(b.page("/photos?stage=during")), "Nothing is left of what was asked for")
	wantWords(t, b.get(b.page("/photos?by="+b.person.String())), "1 of 2", "<h2>B1-2")

	large := b.get(b.page("/photos/2/0"))
	wantWords(t, large, "2 of 2", `rel="prev"`, "/photos/3/0", "size=1600", "<td>before</td>", "<td>Mere Kohu</td>", "<td>Note: as it was</td>", "/book?at=2#n2", "size=original")
	wantWords(t, b.get(b.page("/photos/3/0?of=B1-1")), "1 of 1", `/photos?of=B1-1`, "Not here yet", "Support work")
	for _, gone := range []string{"/photos/2/7", "/photos/9/0", "/photos/x/0", "/photos/2/0?of=B1-1"} {
		if status, _, _ := b.do(b.request(gone)); status != 404 {
			t.Errorf("%s: status %d, want 404", gone, status)
		}
	}
}

// Another firm's photos are nobody's.
func TestPhotosOfAnotherFirm(t *testing.T) {
	s := newSite(t)
	b, other := newBrowser(t, s), newBrowser(t, s)
	other.job = b.job
	for _, page := range officePages {
		if status, _, _ := other.do(other.request(page)); status != 404 {
			t.Errorf("%s of another firm: status %d, want 404", page, status)
		}
	}
}

// officePages are the pages on which the office goes through a job.
var officePages = []string{"/ties", "/inspections", "/safety", "/incidents", "/below", "/photos", "/photos/1/0", "/schedule", "/schedule.csv", "/condition", "/offer", "/crew-sheet", "/handover"}

// Each page says how to begin while there is nothing, and leads to the others.
func TestOfficePagesEmpty(t *testing.T) {
	b := newBrowser(t, newSite(t))
	for page, begin := range map[string]string{
		"/ties": "No tie is noted", "/inspections": "No inspection is recorded", "/safety": "Nothing is recorded yet",
		"/incidents": "None is recorded", "/below": "Nobody has recorded what it is like below",
	} {
		wantWords(t, b.get(b.page(page)), begin, `class="act"`, "The job, in order", `aria-current="page"`)
	}
}

func TestRegisters(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("tie", `{"tie":"waste","what":"waste pipe","where":"the <bath>","trade":"plumber","supports":["B1-2"]}`),
		d.raw("tie", `{"tie":"gas","what":"gas line"}`), d.raw("tie-freed", `{"tie":"gas","how":"capped"}`),
		d.raw("inspection", `{"who":"the inspector","stage":"holes","answer":"again","note":"too shallow"}`),
		d.raw("support-work", `{"support":"B1-1","step":"dug"}`),
		d.raw("incident", `{"what":"near miss","where":"the hatch"}`),
		d.raw("under-floor", `{"ground":"damp","clearance_mm":380,"moisture":[{"support":"B1-1","pct":24}]}`))
	ties := b.get(b.page("/ties"))
	wantWords(t, ties, "1 tie still holds, 1 is freed and not back.", "Plumber", ">waste<", "waste pipe; the &lt;bath&gt;", "B1-2", "open", "Free it", "Nobody said which trade", "freed", "capped", "Put it back")
	wantWords(t, b.get(b.page("/record/tie-freed?tie=waste")), `value="waste" selected`)
	wantWords(t, b.get(b.page("/inspections")), "has not passed the holes at B1-1", "the inspector", "holes", "again; too shallow", "It was seen again")
	wantWords(t, b.get(b.page("/safety")), "none recorded, and work was done below", "not recorded")
	wantWords(t, b.get(b.page("/incidents")), "near miss", "the hatch", "nobody said")
	wantWords(t, b.get(b.page("/below")), "The ground: damp", "380 mm", "Every look", "B1-1 24 %")
	b.saved("safety-check", "", url.Values{"sentences[0].initials": {"MK"}, "at_hatch": {"A. Hand"}})
	b.saved("day-end", "", url.Values{"left": {"B1-1 dug"}, "out": {"yes"}})
	wantWords(t, b.get(b.page("/safety")), "Safety check", `<s>Circuits and gas below are known, off or marked</s> <b>MK</b>`, `No engine runs below <span class="danger">not struck off</span>`, "at the hatch: A. Hand", "End of the day", "everybody out; left: B1-1 dug")
}

// request asks for a page of the job.
func (b *browser) request(page string) *http.Request {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), "GET", b.site.URL+b.page(page), nil)
	must(b.t, err)
	return r
}
