package server_test

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

// officeHouse records a job as far as its hand-over, with something left to do on
// every page.
func officeHouse(t *testing.T) *browser {
	t.Helper()
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	must(t, pgjobs.New(b.site.db.App).CreatePerson(t.Context(), jobs.Person{Firm: b.caller.firm, ID: d.by, Name: "Wilhelmina Marchbanks", Role: jobs.SiteLead, CreatedAt: time.Now()}))
	d.at = d.at.Add(time.Minute) // after the plan that the job has
	b.caller.post(b.job, d.raw("plan", `{"supports":[{"id":"B1-1","x":1,"y":1},{"id":"B1-2","x":3,"y":1},{"id":"B1-3","x":5,"y":1},{"id":"B2-1","x":1,"y":3},{"id":"B2-2","x":3,"y":3},{"id":"B2-3","x":5,"y":3}],
		"datums":[{"id":"D1","x":0,"y":0,"height":0,"off_building":true}],"bearers":[{"id":"B1","supports":["B1-1","B1-2","B1-3"],"width_mm":100,"depth_mm":75,"e_mpa":8000},{"id":"B2","supports":["B2-1","B2-2","B2-3"]}],
		"rooms":[{"name":"kitchen","outline":[[0,0],[4,0],[4,4],[0,4]]},{"name":"bedroom","outline":[[4,0],[6,0],[6,4],[4,4]]}],"hatches":[{"name":"in the hall","outline":[[2,2]]}]}`))
	d.at = d.at.AddDate(0, 0, -20)
	setup, raw := d.setup()
	raws := []string{raw}
	for i, id := range []string{"B1-1", "B1-2", "B1-3", "B2-1", "B2-2", "B2-3"} {
		raws = append(raws, d.reading(setup, id, 1000+float64(4*i*i)))
	}
	b.caller.post(b.job, append(raws,
		d.raw("condition", `{"room":"kitchen","walls":"a crack over the door, 1 mm","doors":"the back door drags","present":"the owner"}`),
		d.raw("gap-reading", `{"gap":"over the door","what":"crack","width":1,"watch":2,"near":"kitchen"}`),
		d.raw("tie", `{"tie":"waste","what":"waste pipe","where":"kitchen","trade":"plumber","supports":["B1-2"]}`),
		d.raw("tie", `{"tie":"gas","what":"gas line","trade":"gas fitter"}`), d.raw("tie-freed", `{"tie":"gas","how":"capped"}`),
		d.raw("finding", `{"what":"rotten","supports":["B1-3"]}`), d.raw("finding", `{"what":"split","where":"the bearer","supports":["B1-2"]}`),
		d.raw("under-floor", `{"ground":"damp","clearance_mm":380,"moisture":[{"support":"B1-1","pct":24}]}`),
		d.raw("floor-cut", `{"cut":"by the sink","where":"kitchen","outline":[[1,1],[1.6,1],[1.6,1.9],[1,1.9]]}`),
		d.raw("incident", `{"what":"near miss","where":"the hatch","done":"the rail was fixed"}`),
		d.raw("aim", `{"aim":"highest","tolerance":{"within_mm":3},"step_mm":5,"neighbour_mm":30,"left_out":["B2-3"],"left_out_why":[{"support":"B2-3","why":"the hearth is not to be touched"}],"agreed_by":"the owner","agreed_how":"on site"}`))...)
	d.at = d.at.AddDate(0, 0, 2)
	b.caller.post(b.job, d.raw("jacking", `{"moves":[{"support":"B1-3","by":5,"gauge":"rule"}]}`), d.raw("gap-reading", `{"gap":"over the door","what":"crack","width":2.4}`),
		d.raw("support-work", `{"support":"B1-3","step":"dug"}`), d.raw("inspection", `{"who":"the inspector","stage":"holes before they are filled","answer":"again","note":"too shallow"}`))
	away := sha256.Sum256([]byte("still on the phone"))
	b.caller.post(b.job, strings.Replace(d.raw("support-work", `{"support":"B1-1","step":"fixed"}`), `"body":`,
		fmt.Sprintf(`"files":[{"type":"photo","sha256":"%x","bytes":9,"media_type":"image/jpeg","stage":"after"}],"body":`, away), 1))
	for _, stage := range []string{"before", "during", "after"} {
		b.saved("note", "", url.Values{"text": {"the joint " + stage}, "photo-subject": {"B1-2"}, "photo-stage": {stage}}, picture(t))
	}
	return b
}

// The pages on which the office goes through a job, in a real browser: each at the
// width of a desk and of a phone, by keyboard, read by axe, and printed. With
// RELEVEL_TEST_SHOTS set to a folder, pictures and prints of them are left there.
func TestOfficeInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	b := officeHouse(t)
	ctx, cancel := context.WithTimeout(t.Context(), 6*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "office.js"))
	run.Env = append(os.Environ(), "SITE="+siteJSON(t, b, chromium), "EMPTY="+emptyJob(t, b))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s\nthe server's log:\n%s", err, out, b.site.log)
	}
}

// emptyJob is a job of which nothing is recorded yet.
func emptyJob(t *testing.T, b *browser) string {
	t.Helper()
	text, err := json.Marshal(b.caller.newJob())
	must(t, err)
	return strings.Trim(string(text), `"`)
}
