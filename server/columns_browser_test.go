package server_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"relevel/jobs"
)

// What was found, stopped and changed, and the book, in a real browser at the
// widths of a desk and of a phone, by mouse and by keys.
func TestColumnsInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	b := newBrowser(t, newSite(t))
	b.another("Una Office", jobs.Office)
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("plan", `{"supports":[{"id":"B1-1","x":1,"y":1},{"id":"B1-2","x":3,"y":1},{"id":"B1-3","x":5,"y":1},{"id":"B2-1","x":1,"y":3},{"id":"B2-2","x":3,"y":3},{"id":"B2-3","x":5,"y":3}],
		"datums":[{"id":"D1","x":0,"y":0,"height":0,"off_building":true}],"bearers":[{"id":"B1","supports":["B1-1","B1-2","B1-3"]},{"id":"B2","supports":["B2-1","B2-2","B2-3"]}]}`))
	setup, raw := d.setup()
	b.caller.post(b.job, raw)
	for i, id := range []string{"B1-1", "B1-2", "B1-3", "B2-1", "B2-2", "B2-3"} {
		b.caller.post(b.job, d.reading(setup, id, float64(1003+4*i)))
	}
	b.finding(d, `{"what":"wet","how_bad":"badly","where":"under the bath","cause":"a leaking pipe","supports":["B1-2","B2-2"],"trade":"plumber","by":"2026-01-05"}`)
	b.finding(d, `{"what":"leaning","how_bad":"45 mm out of plumb","supports":["B2-3"],"owner":"`+b.person.String()+`","by":"2099-04-20"}`)
	done := b.finding(d, `{"what":"too few vents","where":"back wall","cause":"missing or covered vents"}`)
	b.caller.post(b.job, d.raw("finding-closed", `{"finding":"`+filepath.Base(done)+`","how":"vents opened"}`))
	ended, raw := d.event("stop", `{"why":"crack over the bedroom door opened from 2.5 to 3.5 mm","supports":["B1-2"],"ask":"the engineer"}`)
	b.caller.post(b.job, raw, d.raw("go-ahead", fmt.Sprintf(`{"stop":"%s","who":"Una Office","why":"plaster only"}`, ended)))
	for _, body := range []string{`{"text":"A second new stump and pad at B2-3: rotten as well","amount":480.5,"currency":"AUD"}`, `{"text":"New sheet in the bath room","amount":1220,"currency":"AUD"}`} {
		id, raw := d.event("change", body)
		b.caller.post(b.job, raw)
		if body[9] == 'A' {
			b.caller.post(b.job, d.raw("change-answered", `{"change":"`+id.String()+`","accepted":true,"name":"the owner","how":"by phone"}`))
		}
	}
	site, err := json.Marshal(map[string]any{"url": b.site.URL, "token": b.caller.token, "job": b.job, "chromium": chromium, "shots": os.Getenv("RELEVEL_TEST_SHOTS")})
	must(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 8*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "columns.js"))
	run.Env = append(os.Environ(), "SITE="+string(site))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
