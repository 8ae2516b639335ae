package server_test

import (
	"bytes"
	"fmt"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
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

// packJob is a job with readings, a lift, and a photo before and after.
func packJob(b *browser) *device {
	d := newDevice(b.t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1014))
	b.saved("aim", "", url.Values{"aim": {"highest"}, "step_mm": {"5"}, "neighbour_mm": {"20"}, "agreed_by": {"the owner"}})
	b.caller.post(b.job, d.raw("jacking", `{"moves":[{"support":"B1-2","by":14,"gauge":"rule"}]}`), d.reading(setup, "B1-2", 1001))
	b.saved("note", "", url.Values{"text": {"before"}, "photo-subject": {"B1-2"}, "photo-stage": {"before"}}, picture(b.t))
	b.saved("note", "", url.Values{"text": {"after"}, "photo-subject": {"B1-2"}, "photo-stage": {"after"}}, picture(b.t))
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
