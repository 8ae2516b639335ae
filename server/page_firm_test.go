package server_test

import (
	"net/url"
	"strings"
	"testing"
)

func firmForm() url.Values {
	return url.Values{"name": {"Level & Sons"}, "words": {"AU"}, "units": {"mm"}, "zone": {""}}
}

// The firm's page changes how its screens speak, and says beside the field what is
// wrong.
func TestFirmPage(t *testing.T) {
	b := newBrowser(t, newSite(t))
	has(t, "the page", b.get("/firm"), `value="Level &amp; Sons"`, "stump, bearer, packer, staff", "post, girder, shim, rod")
	for field, bad := range map[string]string{"name": " ", "words": "XX", "units": "cm", "zone": "Bega", "phone": "ring us", "mail": "at the door"} {
		form := firmForm()
		form.Set(field, bad)
		status, body, _ := b.post("/firm", form)
		if status != 422 || !strings.Contains(body, "Not kept") || !strings.Contains(body, `class="wrong"`) {
			t.Errorf("%s %q: status %d: %s", field, bad, status, body)
		}
	}
	form := firmForm()
	form.Set("words", "US")
	form.Set("units", "in")
	form.Set("zone", "America/Denver")
	form.Set("phone", "+1 303 555 0100")
	form.Set("mail", "office@example.com")
	status, body, _ := b.post("/firm", form)
	if status != 200 {
		t.Fatalf("status %d", status)
	}
	has(t, "the page after", body, "Kept.", `value="US" selected`, `value="in" selected`, `value="America/Denver"`, `value="&#43;1 303 555 0100"`, `value="office@example.com"`)
	has(t, "what owners see", b.get(b.page("/owner")), "Level &amp; Sons: &#43;1 303 555 0100 or office@example.com.")
	has(t, "a new job", b.get("/new-job"), "America/Denver")
	var phone struct {
		Firm struct{ Units, Region string }
	}
	b.caller.get("/phone", &phone)
	if phone.Firm.Units != "in" || phone.Firm.Region != "US" {
		t.Errorf("the phone is told %+v", phone.Firm)
	}
}

// Pages write lengths in the firm's units: figures, phrases and drawings. Forms
// start with it; what was read in another unit stays as it was read.
func TestPagesInInches(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	form := firmForm()
	form.Set("units", "in")
	b.post("/firm", form)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1019.05), d.reading(setup, "B1-2", 1000),
		d.raw("aim", `{"aim":"level","height":0,"face":"floor","tolerance":{"within_mm":2},"agreed_by":"the owner"}`))
	page := b.get(b.page(""))
	has(t, "the job", page, "+3⁄4″", "Level at 0″ on the floor, within 1⁄16″")
	for _, mm := range []string{" mm<", "+19", " mm,", " mm "} {
		if strings.Contains(page, mm) {
			t.Errorf("the job still has %q: %s", mm, page)
		}
	}
	has(t, "the support", b.get(b.page("/supports/B1-1")), "+3⁄4″", "Stop at <b>39 3⁄8″</b>", "now 40 1⁄8″, 3⁄4″ up", "3⁄4″ to go")
	has(t, "the book", b.get(b.page("/book")), "40 1⁄8″")
	has(t, "the form", b.get(b.page("/record/jacking?support=B1-1")), "39 3⁄8″", `value="in" selected`, "Lengths in inches")
	p := b.caller.state(b.job)
	if s, _ := p.Support("B1-1"); s.ToGo != "19 to go" {
		t.Errorf("the API says %q, want millimetres", s.ToGo)
	}
	b.saved("gap-reading", "", url.Values{"gap": {"G1"}, "what": {"door"}, "width": {"3 mm"}})
	has(t, "the records", b.get(b.page("/records")), "3 mm")
}
