package server_test

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"relevel/events"
)

// shot sends a photo of its own, and records it with a note.
func (b *browser) shot(d *device, job events.ID, mark string) (note events.ID, photo string) {
	b.t.Helper()
	jpeg := append(smallJPEG(b.t), mark...) // decoders stop before it
	photo = sha(jpeg)
	b.caller.send("PUT", "/photos/"+photo, jpeg, "Content-Type", "image/jpeg").want(b.t, http.StatusOK, nil)
	id, raw := d.event("note", `{"text":"`+mark+`"}`)
	b.caller.post(job, strings.TrimSuffix(raw, "}")+`,"files":[{"type":"photo","sha256":"`+photo+`","bytes":1,"media_type":"image/jpeg","stage":"before"}]}`)
	return id, photo
}

// By a link one sees photos made smaller of records that count, up to the last record of
// the link, and no other file: not the original, not a sound, none of another job's, none
// of a record that was voided.
func TestOwnersPhotos(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	_, first := b.shot(d, b.job, "first")
	note, wrong := b.shot(d, b.job, "of another house")
	b.caller.post(b.job, d.raw("void", `{"event":"`+note.String()+`","why":"another house"}`))
	sound := smallSound()
	b.caller.send("PUT", "/photos/"+sha(sound), sound, "Content-Type", "audio/mp4").want(t, http.StatusOK, nil)
	_, raw := d.event("note", `{"text":"said"}`)
	b.caller.post(b.job, strings.TrimSuffix(raw, "}")+`,"files":[{"type":"sound","sha256":"`+sha(sound)+`","bytes":1,"media_type":"audio/mp4"}]}`)
	upTo := b.caller.state(b.job).Seq
	early := b.share(url.Values{"up_to": {fmt.Sprint(upTo)}}).opened()
	_, late := b.shot(d, b.job, "late")
	elsewhere := b.caller.newJob()
	_, theirs := b.shot(newDevice(t, elsewhere), elsewhere, "elsewhere")
	all := b.share(nil).opened()

	for _, test := range []struct {
		of     *owner
		path   string
		status int
	}{
		{all, first + "?size=320", 200}, {all, first + "?size=1600", 200}, {all, late + "?size=320", 200},
		{all, first, 404}, {all, first + "?size=original", 404}, {all, first + "?size=2000", 404}, {all, first + "?size=", 404},
		{all, wrong + "?size=320", 404}, {all, sha(sound) + "?size=320", 404}, {all, theirs + "?size=320", 404}, {all, randomHex(t, 32) + "?size=320", 404}, {all, "nothing?size=320", 404},
		{early, first + "?size=320", 200}, {early, late + "?size=320", 404}, {early, wrong + "?size=1600", 404}, {early, theirs + "?size=320", 404},
		{&owner{t: t, url: all.url, address: all.address}, first + "?size=320", 404},
	} {
		a := test.of.ask("GET", test.of.address+"/photos/"+test.path, nil)
		if a.status != test.status {
			t.Errorf("%s: status %d, want %d: %.200s", test.path, a.status, test.status, a.body)
		}
		if a.status == 200 && (!bytes.HasPrefix(a.body, []byte("\xff\xd8\xff")) || bytes.Contains(a.body, []byte("first")) || a.header.Get("Content-Type") != "image/jpeg" || a.header.Get("Cache-Control") != "no-store") {
			t.Errorf("%s: %v, %d bytes", test.path, a.header, len(a.body))
		}
	}
	if a := all.ask("HEAD", all.address+"/photos/"+first+"?size=320", nil); a.status != 200 || len(a.body) > 0 {
		t.Errorf("HEAD: status %d, %d bytes", a.status, len(a.body))
	}
	if a := all.ask("GET", "/api/v1/photos/"+first+"?size=320", nil); a.status != http.StatusUnauthorized {
		t.Errorf("by the API the cookie opens it: status %d", a.status)
	}
}

// What was recorded after the last record of a link is not in its figures, its changes or
// its words; that a change was answered since is, so that nobody is asked twice.
func TestOwnersCutOff(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.event("setup", `{"instrument":"laser","datums":[{"datum":"D1","staff":1000}]}`)
	change, put := d.event("change", `{"text":"one more stump"}`)
	read := func(mm int) string {
		return d.raw("reading", fmt.Sprintf(`{"setup":"%s","point":"B1-1","face":"floor","staff":%d}`, setup, 1000+mm))
	}
	b.caller.post(b.job, raw, read(12), put)
	cut := fmt.Sprint(b.caller.state(b.job).Seq)
	early := b.share(url.Values{"up_to": {cut}}).opened()
	late, raw := d.event("change", `{"text":"a canary"}`)
	b.caller.post(b.job, d.raw("jacking", `{"moves":[{"support":"B1-1","by":9,"gauge":"rule"}]}`), read(3), raw)
	all := b.share(nil).opened()

	was := early.see("")
	shows(t, was, ">−12 mm<", "one more stump")
	hides(t, was, ">−3 mm<", "canary")
	shows(t, all.see(""), ">−3 mm<", "canary")
	if a := early.ask("GET", early.address+"/changes/"+late.String(), nil); a.status != http.StatusNotFound {
		t.Errorf("a change of later: status %d", a.status)
	}
	if a := early.ask("POST", early.address+"/changes/"+late.String(), url.Values{"form": {newID(t).String()}, "name": {"x"}, "said": {"yes"}}); a.status != http.StatusNotFound {
		t.Errorf("a change of later is answered: status %d", a.status)
	}
	form := hidden(early.see("/changes/" + change.String()))
	form.Set("name", "R. Finch")
	form.Set("said", "yes")
	if a := early.ask("POST", early.address+"/changes/"+change.String(), form); a.status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", a.status, a.body)
	}
	shows(t, early.see(""), "Agreed")
	if a := all.ask("POST", all.address+"/changes/"+change.String(), form); a.status != http.StatusConflict {
		t.Errorf("answered by another link: status %d", a.status)
	}
	shows(t, b.get(b.page("/shares")), "up to line "+cut, "up to now, line ")
}

// A visit opens the job of its share, and nothing else: no other share, whether of the
// same job, the same firm or another one, no page of the office, no part of the API.
func TestOwnersApart(t *testing.T) {
	s := newSite(t)
	b, theirs := newBrowser(t, s), newBrowser(t, s)
	one, same, foreign := b.share(nil).opened(), b.share(nil), theirs.share(nil)
	second := *b
	second.job = b.caller.newJob()
	elsewhere := second.share(nil)
	d := newDevice(t, second.job)
	change, raw := d.event("change", `{"text":"a canary"}`)
	b.caller.post(second.job, raw)
	_, photo := b.shot(d, second.job, "canary")
	dTheirs := newDevice(t, theirs.job)
	theirChange, raw := dTheirs.event("change", `{"text":"a canary"}`)
	theirs.caller.post(theirs.job, raw)

	for name, other := range map[string]*owner{"another of the same job": same, "of another job": elsewhere, "of another firm": foreign} {
		with := *other
		with.cookie = one.cookie // a browser would not even send it
		shows(t, with.see(""), `id="open-share"`)
		for _, path := range []string{"/changes/" + change.String(), "/photos/" + photo + "?size=320"} {
			if a := with.ask("GET", with.address+path, nil); a.status != http.StatusSeeOther && a.status != http.StatusNotFound {
				t.Errorf("%s: %s: status %d", name, path, a.status)
			}
		}
		if a := with.tries(one.secret); a.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: by this one's secret: status %d", name, a.status)
		}
	}
	for _, id := range []events.ID{change, theirChange, newID(t)} {
		for method, form := range map[string]url.Values{"GET": nil, "POST": {"form": {newID(t).String()}, "name": {"x"}, "said": {"yes"}}} {
			if a := one.ask(method, one.address+"/changes/"+id.String(), form); a.status != http.StatusNotFound || bytes.Contains(a.body, []byte("canary")) {
				t.Errorf("%s the change of another job: status %d", method, a.status)
			}
		}
	}
	if p := b.caller.state(second.job); !p.Changes[0].Open {
		t.Error("a change of another job was answered")
	}
	routes, err := s.app.Routes()
	must(t, err)
	for _, route := range routes {
		method, path, _ := strings.Cut(strings.TrimSuffix(route, "*"), " ")
		if strings.HasPrefix(path, "/s/") {
			continue
		}
		path = strings.NewReplacer("{job}", b.job.String(), "{share}", one.id.String(), "{support}", "B1-1").Replace(path)
		path = regexp.MustCompile(`{\w+}`).ReplaceAllString(path, newID(t).String())
		for _, name := range []string{one.cookie.Name, "relevel"} {
			with := *one
			with.cookie = &http.Cookie{Name: name, Value: one.cookie.Value}
			a := with.ask(method, path, nil)
			if bytes.Contains(a.body, []byte("Wattle")) || bytes.Contains(a.body, []byte("Level &amp; Sons")) || bytes.Contains(a.body, []byte(one.id.String())) {
				t.Errorf("%s shows something of the firm: status %d", route, a.status)
			}
		}
	}
	hand := b.joinedBy(t, "crew-hand")
	if status, _, _ := hand.try("GET", b.page("/shares")); status != http.StatusForbidden {
		t.Errorf("a hand sees the links: status %d", status)
	}
	if status, _, _ := hand.post(b.page("/shares"), url.Values{"name": {"x"}, "until": {"2040-03-02"}}); status != http.StatusForbidden {
		t.Errorf("a hand makes a link: status %d", status)
	}
	if status, _, _ := theirs.post(b.page("/shares/"+one.id.String()+"/revoke"), nil); status != http.StatusNotFound {
		t.Errorf("another firm revokes it: status %d", status)
	}
	if status, _, _ := b.post("/jobs/"+second.job.String()+"/shares/"+one.id.String()+"/revoke", nil); status != http.StatusNotFound {
		t.Errorf("it is revoked under another job: status %d", status)
	}
	shows(t, one.see(""), "14 Wattle Street")
}
