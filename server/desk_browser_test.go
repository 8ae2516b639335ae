package server_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

// deskFirm is a firm with something on each page that its desk works from. It returns
// the keys of what was kept apart: what can be taken in, what has to be corrected
// first, and what nobody can read.
func deskFirm(t *testing.T) (b *browser, apart []string) {
	t.Helper()
	db := sharedDB(t)
	b = newBrowser(t, newSiteOn(t, db, withHooks(t, db)))
	d := newDevice(t, b.job)
	d.by = b.person
	crew := jobs.Crew{Firm: b.caller.firm, ID: newID(t), Name: "Crew North"}
	must(t, pgjobs.New(b.site.db.App).CreateCrew(t.Context(), crew))
	b.giveTo(crew.ID, "2026-03-02", "2026-03-06")
	b.another("Tama Parata", jobs.CrewHand)
	kitOf(t, b)
	raws := []string{d.raw("instrument-check", `{"instrument":"green line","sort":"half-turn","distance_m":10,"difference":2}`),
		d.raw("finding", `{"what":"wet rot","where":"under the bath","supports":["B1-2"]}`), d.raw("jacking", `{"moves":[{"support":"B7-7","by":3,"gauge":"rule"}]}`)}
	for i := range 50 {
		raws = append(raws, d.raw("note", fmt.Sprintf(`{"text":"damp under the bath, patch %d"}`, i+1)))
	}
	b.caller.post(b.job, raws...)
	b.searched("patch 50", "<mark>patch</mark>")
	apart = append(apart, b.lost(d, "finding", `{"what":"wet rot","where":"under the laundry","supports":["B1-2"]}`),
		b.lost(d, "packing", `{"support":"B1-1","sort":"final","gap":{"value":1.5,"unit":"in"},"pieces":[{"thickness":{"value":-1,"unit":"in"},"material":"hardwood"}],"full_width":true}`))
	b.caller.send("POST", "/jobs/"+b.job.String()+"/events", batch(`{"half":"a record"}`)).want(t, 200, nil)
	var got struct{ Quarantine []struct{ Key string } }
	b.caller.get("/quarantine", &got)
	for _, q := range got.Quarantine { // those of one millisecond stand in any order
		if !slices.Contains(apart, q.Key) {
			return b, append(apart, q.Key)
		}
	}
	t.Fatal("what nobody can read was not kept apart")
	return nil, nil
}

// kitOf records a jack that is good, one that is overdue and had an earlier record, one
// out of use, and two lasers of which one is to be checked soon.
func kitOf(t *testing.T, b *browser) {
	t.Helper()
	soon := time.Now().AddDate(0, 0, 6).Format(time.DateOnly)
	for _, jack := range []string{`{"name":"blue bottle","rated_kn":98.1,"bore_mm":32,"gauge":true,"inspected_on":"2026-01-05"}`,
		`{"name":"red bottle","rated_kn":49,"inspected_on":"2019-07-05","due_on":"2020-01-05"}`,
		`{"name":"red bottle","rated_kn":49,"inspected_on":"2020-01-05","due_on":"2020-07-05","note":"weeps a little"}`,
		`{"name":"old screw","rated_kn":60,"gone":true,"note":"the thread is worn"}`} {
		b.caller.send("POST", "/jacks", []byte(jack)).want(t, 201, nil)
		time.Sleep(5 * time.Millisecond) // the newest is known by its millisecond
	}
	for _, laser := range []string{`{"name":"green line","sd_mm_per_m":0.05,"inspected_on":"2026-01-05","due_on":"` + soon + `"}`, `{"name":"old level","inspected_on":"2019-01-05","due_on":"2020-01-05"}`} {
		b.caller.send("POST", "/lasers", []byte(laser)).want(t, 201, nil)
	}
}

// The pages that the desk works from beside the jobs, in a real browser: at the width of
// a desk and of a phone, by night, read by axe and gone through by keyboard. With
// RELEVEL_TEST_SHOTS set to a folder, screenshots are left there.
func TestDeskInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	b, apart := deskFirm(t)
	keys, err := json.Marshal(apart)
	must(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 8*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "desk.js"))
	run.Env = append(os.Environ(), "SITE="+siteJSON(t, b, chromium), "APART="+string(keys), "PERSON="+b.person.String())
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s\nthe server's log:\n%s", err, out, b.site.log)
	}
}
