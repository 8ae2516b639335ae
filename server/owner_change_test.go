package server_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// The owner accepts a change by their link: the answer is a record like any other, which
// says by which link it came, and the office sees it at once.
func TestOwnerAnswers(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	change, raw := d.event("change", `{"text":"one more stump","amount":480.5,"currency":"AUD"}`)
	other, rawOther := d.event("change", `{"text":"a new step"}`)
	b.caller.post(b.job, raw, rawOther)
	o := b.share(nil).opened()
	shows(t, o.see(""), "one more stump", "480.50 AUD", "Accept or decline")
	page := o.see("/changes/" + change.String())
	shows(t, page, "A change to agree, no. 1", "Not answered yet", "480.50 AUD")
	at := o.address + "/changes/" + change.String()
	form := hidden(page)
	form.Set("why", "the <b>sooner</b> the better")
	if a := o.ask("POST", at, form); a.status != http.StatusUnprocessableEntity || !strings.Contains(string(a.body), "by one of the two buttons") ||
		!strings.Contains(string(a.body), `id="name-wrong"`) || !strings.Contains(string(a.body), "the &lt;b&gt;sooner") {
		t.Errorf("neither yes nor no, by nobody: status %d: %s", a.status, a.body)
	}
	before := b.caller.state(b.job).Seq
	form.Set("name", " R. Finch ")
	form.Set("said", "yes")
	for range 2 { // the button is pressed twice
		if a := o.ask("POST", at, form); a.status != http.StatusSeeOther || a.header.Get("Location") != at {
			t.Errorf("status %d: %s", a.status, a.body)
		}
	}
	form.Set("said", "no")
	if a := o.ask("POST", at, form); a.status != http.StatusConflict || !strings.Contains(string(a.body), "your answer was not recorded") || !strings.Contains(string(a.body), "Agreed</b>, R. Finch") {
		t.Errorf("answered otherwise afterwards: status %d: %s", a.status, a.body)
	}
	shows(t, o.see("/changes/"+change.String()), "Agreed</b>, R. Finch, by the owner’s link", "the &lt;b&gt;sooner")
	shows(t, b.get(b.page("/changes/"+change.String())), "Agreed</b> by R. Finch, by the owner’s link")

	p := b.caller.state(b.job)
	if p.Seq != before+1 || p.Changes[0].State != jobs.ChangeAgreed || p.Changes[0].Answer.Share != o.id {
		t.Errorf("seq %d after %d, %+v", p.Seq, before, p.Changes[0])
	}
	var got struct {
		Events []struct{ Event events.Event }
	}
	b.caller.get(fmt.Sprintf("/jobs/%s/events?after=%d", b.job, before), &got)
	var body events.ChangeAnswered
	must(t, json.Unmarshal(got.Events[0].Event.Body, &body))
	want := events.ChangeAnswered{Change: change, Accepted: true, Name: "R. Finch", How: "by the owner’s link", Why: "the <b>sooner</b> the better", Share: o.id}
	if diff := cmp.Diff(want, body); diff != "" || !got.Events[0].Event.By.IsZero() {
		t.Errorf("recorded by %s (-want +got):\n%s", got.Events[0].Event.By, diff)
	}

	form = hidden(o.see("/changes/" + other.String()))
	form.Set("name", "R. Finch")
	form.Set("said", "no")
	if a := o.ask("POST", o.address+"/changes/"+other.String(), form); a.status != http.StatusSeeOther {
		t.Errorf("declined: status %d", a.status)
	}
	shows(t, o.see(""), "Declined", "Agreed")
	hides(t, o.see(""), "Accept or decline")
	shows(t, b.get("/trail"), "change answered by the owner: 14 Wattle Street, accepted", "the link for the owner")
}

// Of two who answer at once one is heard and the other is told, while phones record all
// the time.
func TestOwnersAnswerAtOnce(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	d := newDevice(t, b.job)
	change, raw := d.event("change", `{"text":"one more stump"}`)
	b.caller.post(b.job, raw)
	var all sync.WaitGroup
	var heard, told atomic.Int32
	var owners []*owner
	var forms []url.Values
	for _, said := range []string{"yes", "no", "yes", "no"} {
		o := b.share(nil).opened()
		form := hidden(o.see("/changes/" + change.String()))
		form.Set("name", "the owner")
		form.Set("said", said)
		owners, forms = append(owners, o), append(forms, form)
	}
	for i, o := range owners {
		all.Go(func() {
			switch a := o.ask("POST", o.address+"/changes/"+change.String(), forms[i]); a.status {
			case http.StatusSeeOther:
				heard.Add(1)
			case http.StatusConflict:
				told.Add(1)
			default:
				t.Errorf("status %d: %s", a.status, a.body)
			}
		})
	}
	all.Go(func() {
		for range 10 {
			b.caller.post(b.job, d.raw("note", `{"text":"damp"}`))
		}
	})
	all.Wait()
	if heard.Load() != 1 || told.Load() != 3 {
		t.Errorf("%d were heard and %d told, want 1 and 3", heard.Load(), told.Load())
	}
	if p := b.caller.state(b.job); p.Seq != 1+1+10+1 || len(p.Flags) > 0 {
		t.Errorf("%d records, flags %v", p.Seq, p.Flags)
	}
}
