package server_test

import (
	"fmt"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
)

// A job's name, place, crew, zone and days are changed on its page; what makes no
// sense is shown beside its field, and who was overtaken is told.
func TestParticulars(t *testing.T) {
	b := newBrowser(t, newSite(t))
	at := b.page("/particulars")
	form := hidden(b.get(at))
	for name, v := range map[string]string{"name": "Long hall", "place": "Bega", "zone": "Australia/Hobart", "planned_first": "2026-03-09", "planned_last": "2026-03-02"} {
		form.Set(name, v)
	}
	status, body, _ := b.post(at, form)
	if status != 422 || !strings.Contains(body, "a day that is not before the first, 9 March 2026") || !strings.Contains(body, `value="Long hall"`) {
		t.Fatalf("status %d, want the field's cure and what was typed: %s", status, body)
	}
	form.Set("planned_last", "2026-03-13")
	if status, body, _ = b.post(at, form); status != 200 || !strings.Contains(body, `value="2026-03-13"`) {
		t.Fatalf("status %d: %s", status, body)
	}
	var j jobs.Job
	b.caller.get("/jobs/"+b.job.String(), &j)
	if j.Name != "Long hall" || j.Zone != "Australia/Hobart" || j.PlannedFirst != "2026-03-09" || j.Revision != 1 {
		t.Errorf("kept as %+v", j)
	}
	form.Set("name", "Another")
	if status, body, _ = b.post(at, form); status != 409 || !strings.Contains(body, "meanwhile") || !strings.Contains(body, `value="Another"`) {
		t.Errorf("after somebody else's change: status %d: %s", status, body)
	}
	if status, _, _ = b.post(at, hidden(body)); status != 422 {
		t.Errorf("without a name: status %d, want 422", status)
	}
}

// Closing a job takes the book as it was seen; it leaves the day sheet, and what is
// recorded after is kept and shown.
func TestCloseJob(t *testing.T) {
	b := newBrowser(t, newSite(t))
	at := b.page("/particulars")
	seen := hidden(b.get(at))
	seen.Set("why", "paid and handed over")
	if status, body, _ := b.post(b.page("/closing"), seen); status != 422 || !strings.Contains(body, "who records this") || !strings.Contains(body, `value="paid and handed over"`) {
		t.Fatalf("without anybody: status %d: %s", status, body)
	}
	seen.Set("recorder", b.person.String())
	d := newDevice(t, b.job)
	b.caller.post(b.job, d.raw("note", `{"text":"came between"}`))
	status, body, _ := b.post(b.page("/closing"), seen)
	if status != 409 || !strings.Contains(body, "meanwhile") {
		t.Fatalf("after another line: status %d: %s", status, body)
	}
	again := hidden(body)
	again.Set("why", "paid and handed over")
	again.Set("recorder", b.person.String())
	for range 2 { // a second press closes nothing twice
		if status, body, _ = b.post(b.page("/closing"), again); status != 200 || !strings.Contains(body, "The job is closed") || strings.Count(body, "paid and handed over") != 1 {
			t.Fatalf("status %d: %s", status, body)
		}
	}
	if !strings.Contains(body, "Mere Kohu") {
		t.Error("the page does not say who closed it")
	}
	if sheet := b.get("/"); strings.Contains(sheet, b.page("")) {
		t.Error("the day sheet shows a job that is closed")
	}
	b.caller.post(b.job, d.raw("note", `{"text":"after"}`))
	if page := b.get(b.page("")); !strings.Contains(page, "This job is closed") || !strings.Contains(page, "1 line was recorded since") {
		t.Error("the job's page does not say what was recorded after it was closed")
	}
	waitListed(t, b.caller, 3)
	if closed := b.get("/closed"); !strings.Contains(closed, b.page("")) || !strings.Contains(closed, "1 line recorded since it was closed") {
		t.Error("the page of closed jobs does not say it")
	}
	open := hidden(b.get(at))
	open.Set("why", "a door sticks")
	open.Set("recorder", b.person.String())
	if status, body, _ = b.post(b.page("/closing"), open); status != 200 || !strings.Contains(body, "Opened again") || !strings.Contains(b.get("/"), b.page("")) {
		t.Errorf("opened again: status %d: %s", status, body)
	}
}

// A phone keeps a closed job while somebody is below or something can hurt.
func TestClosedJobOnPhones(t *testing.T) {
	c := newSite(t).firm("Level Best")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("plan", smallPlan), d.raw("jacking", `{"moves":[{"support":"B1-1","by":3,"gauge":"rule"}]}`))
	c.closeJob(job, 2, true).want(t, 200, nil)
	waitListed(t, c, 2)
	carried := func() int {
		var all struct{ Jobs []jobs.Job }
		c.get("/phone", &all)
		return len(all.Jobs)
	}
	if n := carried(); n != 1 {
		t.Fatalf("%d jobs on the phone with a load on a jack, want it", n)
	}
	c.post(job, d.raw("packing", `{"support":"B1-1","sort":"final","pieces":[{"thickness":20}],"full_width":true}`), d.raw("jack-down", `{"support":"B1-1"}`), d.raw("day-end", `{"out":true}`))
	waitListed(t, c, 5)
	if n := carried(); n != 0 {
		t.Errorf("%d jobs on the phone, want none", n)
	}
	c.post(job, d.raw("jacking", `{"moves":[{"support":"B1-2","by":3,"gauge":"rule"}]}`))
	waitListed(t, c, 6)
	if n := carried(); n != 1 {
		t.Errorf("%d jobs on the phone with a load on a jack again, want it", n)
	}
}

func (c *caller) closeJob(job events.ID, seq int64, closed bool) answer {
	c.t.Helper()
	return c.send("POST", "/jobs/"+job.String()+"/closing", []byte(fmt.Sprintf(`{"closed":%t,"why":"done","seq":%d}`, closed, seq)))
}

func TestClosingRefused(t *testing.T) {
	s := newSite(t)
	c, stranger := s.firm("Level Best"), s.firm("Plumb & Sons")
	job := c.newJob()
	stranger.closeJob(job, 0, true).want(t, 404, nil)
	c.closeJob(job, 3, true).want(t, 409, nil)
	c.closeJob(job, 0, false).want(t, 409, nil)
	c.send("POST", "/jobs/"+job.String()+"/closing", []byte(`{"closed":true,"seq":0}`)).problem(t, 422, "why")
	c.send("POST", "/jobs/"+job.String()+"/particulars", []byte(`{"name":"x","zone":"Nowhere/At-all"}`)).problem(t, 422, "zone")
	stranger.send("POST", "/jobs/"+job.String()+"/particulars", []byte(`{"name":"x","zone":"UTC"}`)).want(t, 404, nil)
	c.closeJob(job, 0, true).want(t, 200, nil)
	c.closeJob(job, 0, true).want(t, 409, nil)
}
