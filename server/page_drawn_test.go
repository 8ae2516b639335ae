package server_test

import (
	"net/url"
	"strings"
	"testing"
)

// The job's page leads to the lines and the shading, which show what was read
// and say so while nothing is.
func TestPagesDrawn(t *testing.T) {
	b := newBrowser(t, newSite(t))
	for _, path := range []string{"/lines", "/shading"} {
		if body := b.get(b.page(path)); strings.Contains(body, "<svg") || !strings.Contains(body, "No height is known yet.") {
			t.Errorf("%s of a job without heights: %s", path, body)
		}
	}
	b.saved("aim", "", url.Values{"aim": {"level"}, "height": {"0"}, "face": {"floor"}, "tolerance.within_mm": {"2"}, "agreed_by": {"the owner"}})
	b.saved("setup", "", url.Values{"instrument": {"laser"}, "datums[0].staff": {"1000"}})
	setup := optionOf(t, b.get(b.page("/record/reading")), "laser")
	b.saved("reading", "?support=B1-1", url.Values{"setup": {setup}, "face": {"floor"}, "rows[0].staff": {"1012"}})

	job := b.get(b.page(""))
	for _, want := range []string{b.page("/lines") + `"`, b.page("/shading") + `"`, `class="lines`, `class="shading`} {
		if !strings.Contains(job, want) {
			t.Errorf("the job's page holds no %s", want)
		}
	}
	for path, want := range map[string]string{"/lines": `<svg xmlns="http://www.w3.org/2000/svg" class="lines`, "/shading": "mm to go to the target"} {
		if body := b.get(b.page(path)); !strings.Contains(body, want) || !strings.Contains(body, "+12") || !strings.Contains(body, "±") {
			t.Errorf("%s shows no 12 to go with its ±: %s", path, body)
		}
	}
	row := job[strings.Index(job, `data-row="B1-1"`):]
	row = row[:strings.Index(row, "</tr>")]
	if strings.Contains(row, "expected") || strings.Count(row, "±") < 3 {
		t.Errorf("a figure that was read is in pencil, or stands without its ±: %s", row)
	}
	b.saved("jacking", "?support=B1-1", url.Values{"moves[0].by": {"5"}, "moves[0].gauge": {"rule"}})
	row = b.get(b.page(""))
	row = row[strings.Index(row, `data-row="B1-1"`):]
	if row = row[:strings.Index(row, "</tr>")]; strings.Count(row, "expected") != 2 {
		t.Errorf("after a move both figures are expected, not read: %s", row)
	}
}
