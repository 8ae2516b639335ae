package server_test

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

// The day sheet, the diary, the calendars and a job's particulars in a real browser.
// With RELEVEL_TEST_SHOTS set to a folder, screenshots are left there.
func TestDaySheetInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	s := newSite(t)
	b := newBrowser(t, s)
	store := pgjobs.New(s.db.App)
	crew := jobs.Crew{Firm: b.caller.firm, ID: newID(t), Name: "Crew North"}
	must(t, store.CreateCrew(t.Context(), crew))
	must(t, store.CreateLaser(t.Context(), jobs.Laser{Firm: crew.Firm, ID: newID(t), Name: "green", CreatedAt: time.Now()}))
	b.giveTo(crew.ID, "2026-03-02", "2026-03-06")
	other := b.caller.newJob()
	d := newDevice(t, other)
	b.caller.post(other, d.raw("plan", smallPlan), d.raw("jacking", `{"moves":[{"support":"B1-1","by":3,"gauge":"rule"}]}`), d.raw("finding", `{"what":"trap leaks","by":"2020-03-02"}`))
	site, err := json.Marshal(map[string]any{"url": s.URL, "token": b.caller.token, "job": b.job, "seq": 1, "device": newID(t), "person": b.person,
		"chromium": chromium, "shots": os.Getenv("RELEVEL_TEST_SHOTS")})
	must(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "daysheet.js"))
	run.Env = append(os.Environ(), "SITE="+string(site))
	out, err := run.CombinedOutput()
	t.Logf("%s", out)
	if err != nil {
		t.Errorf("%v\nthe server's log:\n%s", err, s.log)
	}
}
