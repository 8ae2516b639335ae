package server_test

import (
	"net/url"
	"regexp"
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

// A day of the past stands between as found and now, on the same scale.
func TestPagesDrawnAsOfADay(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	setup, raw := d.setup()
	b.caller.post(b.job, raw, d.reading(setup, "B1-1", 1000), d.reading(setup, "B1-2", 1040), d.raw("aim", `{"aim":"highest","agreed_by":"the owner"}`))
	day := d.at.In(siteZone(t))
	for range 2 {
		d.at = d.at.AddDate(0, 0, 1)
		b.caller.post(b.job, d.raw("jacking", `{"moves":[{"support":"B1-2","by":10,"gauge":"rule"}]}`))
	}
	for _, page := range []string{"/lines", "/shading"} {
		body := b.get(b.page(page + "?as_of=6"))
		wantWords(t, body, "the evening of "+day.AddDate(0, 0, 2).Format("Mon 2 Jan"), `value="6" selected`, "<figcaption>Survey</figcaption>", "<figcaption>Then, the evening of", "<figcaption>Now</figcaption>")
		wantWords(t, body, "+40", "+30", "+20")
		for _, bad := range []string{"x", "-1", "99"} {
			if status, _, _ := b.do(b.request(page + "?as_of=" + bad)); status != 422 {
				t.Errorf("%s as of %s: status %d, want 422", page, bad, status)
			}
		}
	}
	lines := b.get(b.page("/lines?as_of=6"))
	scale := regexp.MustCompile(`heights drawn ×([0-9.]+)`)
	for _, m := range scale.FindAllStringSubmatch(lines, -1) {
		if first := scale.FindStringSubmatch(lines)[1]; m[1] != first {
			t.Errorf("prints at ×%s and ×%s on one sheet", first, m[1])
		}
	}
}
