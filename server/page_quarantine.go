package server

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

const (
	mostApart      = 100 // things on one page
	mostAsideJobs  = 50
	mostAsideLines = 30
)

// whichJob is what a decision lacks that puts a thing into no job of the firm.
const whichJob = "missing: which of the firm’s jobs it belongs to"

func (p *pages) quarantineRoutes(own firmRoutes) {
	own.get("/quarantine", p.getQuarantinePage)
	own.get("/quarantine/{key}", p.getApartPage)
	own.get("/quarantine/{key}/bytes", p.getApartBytes)
	own.get("/quarantine/{key}/correct", p.getCorrect)
	own.post("/quarantine/{key}/decide", p.postDecidePage)
}

// desktop is what pages about things kept apart have in common.
type desktop struct {
	firm   jobs.Firm
	jobs   map[events.ID]jobs.Job
	list   []listedJob
	people []jobs.Person
	names  map[events.ID]string
	phones map[events.ID]string // by device
	now    time.Time
}

func (p *pages) desktopOf(r *http.Request, firm events.ID) (d desktop, err error) {
	ctx, store := r.Context(), p.config.Store
	if d.firm, err = store.FindFirm(ctx, firm); err != nil {
		return d, err
	}
	if d.people, err = store.ListPeople(ctx, firm); err != nil {
		return d, err
	}
	if d.list, err = p.listJobs(r, firm); err != nil {
		return d, err
	}
	accesses, err := store.ListTokens(ctx, firm)
	if err != nil {
		return d, err
	}
	d.names, d.jobs, d.phones = namesOf(d.people), map[events.ID]jobs.Job{}, map[events.ID]string{}
	for _, j := range d.list {
		d.jobs[j.ID] = j.Job
	}
	for _, t := range accesses {
		if _, known := d.phones[t.Device]; !known && !t.Device.IsZero() {
			d.phones[t.Device] = t.Name
		}
	}
	d.now = inZoneOf(d.firm, p.config.Now())
	return d, nil
}

// when writes a moment by the clock of a job, or of the firm where it has no such job.
func (d desktop) when(at time.Time, job events.ID) string {
	zone, err := time.LoadLocation(d.firm.Zone)
	if d.firm.Zone == "" || err != nil {
		zone = d.now.Location()
	}
	if j, known := d.jobs[job]; known {
		zone = zoneOf(j)
	}
	return web.When(at.In(zone), d.now.In(zone))
}

// line is a thing kept apart in words.
func (d desktop) line(c events.Case) web.ApartLine {
	was := c.Read()
	l := web.ApartLine{
		Key: c.Key().String(), When: d.when(c.At, c.Job), What: "Something unreadable", Of: d.jobs[c.Job].Name, Reason: c.Reason,
	}
	if was.Kind != "" {
		l.What = d.firm.Words.Words().Say(jobs.KindWords(was.Kind))
	} else {
		l.Reason = "part of it is missing or broken (" + c.Reason + ")"
	}
	l.From = strings.Join(nonEmpty(d.phones[c.Device], d.names[was.By]), ", ")
	if l.From == "" {
		l.From = "nobody known"
	}
	if c.Last.N > 0 {
		l.Last = d.decided(c.Last, c.Job)
	}
	return l
}

func nonEmpty(parts ...string) (list []string) {
	for _, part := range parts {
		if part != "" {
			list = append(list, part)
		}
	}
	return list
}

var decidedWords = map[events.Settling]string{
	events.Accepted: "taken in", events.Corrected: "taken in with a change", events.PutAside: "set aside", events.Reopened: "reopened",
}

func (d desktop) decided(one events.Decision, job events.ID) web.Decided {
	out := web.Decided{What: decidedWords[one.What], Why: one.Why, By: d.names[one.By], When: d.when(one.At, job)}
	if j, known := d.jobs[one.Job]; known {
		out.What += " to " + j.Name
	}
	return out
}

// getQuarantinePage is GET /quarantine.
func (p *pages) getQuarantinePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	d, err := p.desktopOf(r, firm)
	if err != nil {
		return err
	}
	page := web.QuarantinePage{Frame: p.frameOf(r, d.firm, "Kept apart")}
	for _, settled := range []bool{false, true} {
		cases, err := p.config.Log.Apart(r.Context(), firm, settled, mostApart+1)
		if err != nil {
			return err
		}
		if len(cases) > mostApart {
			page.More, cases = page.More || !settled, cases[:mostApart]
		}
		for _, c := range cases {
			if settled {
				page.Settled = append(page.Settled, d.line(c))
			} else {
				page.Waiting = append(page.Waiting, d.line(c))
			}
		}
	}
	if page.Aside, err = p.asideOf(r, d); err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

// asideOf are the jobs in whose books something does not count yet. Which they
// are is known from their summaries.
func (p *pages) asideOf(r *http.Request, d desktop) (list []web.AsideJob, err error) {
	for _, j := range d.list {
		if j.Brief == nil || j.Brief.Aside == 0 || len(list) == mostAsideJobs {
			continue
		}
		picture, err := p.states.picture(r.Context(), jobKey{d.firm.ID, j.ID}, d.now)
		if err != nil {
			return nil, err
		}
		if lines := picture.SetAside; len(lines) > 0 {
			list = append(list, web.AsideJob{Name: j.Name, Base: "/jobs/" + j.ID.String(), Lines: lines[max(0, len(lines)-mostAsideLines):]})
		}
	}
	return list, nil
}

// getApartPage is GET /quarantine/{key}.
func (p *pages) getApartPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.apartPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) apartPage(r *http.Request, firm events.ID) (page web.ApartPage, err error) {
	key, err := apartKey(r)
	if err != nil {
		return page, err
	}
	d, err := p.desktopOf(r, firm)
	if err != nil {
		return page, err
	}
	q, history, err := p.config.Log.FindApart(r.Context(), firm, key)
	if err != nil {
		return page, err
	}
	page.Frame, page.ApartLine = p.frameOf(r, d.firm, "Kept apart"), d.line(events.Case{Quarantined: q})
	page.N, page.Open, page.Size = len(history)+1, true, len(q.Raw)
	for _, one := range history {
		said := d.decided(one, q.Job)
		if !one.Event.IsZero() {
			said.Href = "/jobs/" + one.Job.String() + "/book"
		}
		page.History, page.Open = append(page.History, said), !one.Settled()
	}
	page.People, page.By = recorders(who(r), d.people, decides), cmp.Or(signedIn(r), liked(r, "recorder"))
	for _, j := range d.list {
		page.Jobs = append(page.Jobs, web.Choice{Value: j.ID.String(), Label: strings.Join(nonEmpty(j.Name, j.Place), ", ")})
	}
	if _, known := d.jobs[q.Job]; known {
		page.Chosen = q.Job.String()
	}
	p.read(&page, d, q)
	return page, nil
}

// read fills in what can be read of a thing.
func (p *pages) read(page *web.ApartPage, d desktop, q events.Quarantined) {
	was := q.Read()
	fact := func(name, value string) {
		if value != "" {
			page.Facts = append(page.Facts, web.Fact{Name: name, Value: value})
		}
	}
	fact("Arrived", page.When)
	if !was.At.IsZero() {
		fact("Recorded", d.when(was.At, q.Job)+" by its own clock")
	}
	fact("By", d.names[was.By])
	fact("Phone", d.phones[q.Device])
	if page.Of == "" {
		fact("Job", "one that the firm does not have")
	} else {
		fact("Job", page.Of)
	}
	state := jobs.Refold(q.Job, nil)
	state.Speak(d.firm.Speech())
	line := state.Line(events.Stored{Event: was})
	page.Says = strings.Join(nonEmpty(strings.Join(line.Points, ", "), line.Text), ": ")
	if line.Staff != nil {
		page.Says = strings.Join(nonEmpty(page.Says, d.firm.Words.Words().Staff+" "+d.firm.Units.ShowFine(*line.Staff)), ", ")
	}
	if _, err := events.Open(was.Kind, was.V, was.Body); err != nil || page.Says == "" {
		page.Body = readable(q, was)
	}
	page.Photos = photosOf(events.Stored{Event: was})
	var bad *levelling.InputError
	switch err := q.Acceptable(); {
	case was.Kind == "":
		page.CannotBe = "it does not say what it records; corrected, it becomes a note"
	case errors.As(err, &bad):
		form, _ := web.CorrectionOf(was)
		page.CannotBe = form.LabelOf(bad.Field) + ": " + bad.Cure
	case err != nil:
		page.CannotBe = err.Error()
	}
}

// mostReadable is how much of what was sent a page shows.
const mostReadable = 4000

// readable is what was sent, indented where it is JSON.
func readable(q events.Quarantined, was events.Event) string {
	text := q.Raw
	if len(was.Body) > 0 {
		text = was.Body
	}
	var b bytes.Buffer
	if json.Indent(&b, text, "", "  ") == nil {
		text = b.Bytes()
	}
	shown := events.PlainText(string(text[:min(len(text), mostReadable)]))
	if len(text) > mostReadable {
		shown += " …"
	}
	return shown
}

// getApartBytes is GET /quarantine/{key}/bytes: exactly what arrived. No browser
// is to make anything of it.
func (p *pages) getApartBytes(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := apartKey(r)
	if err != nil {
		return err
	}
	q, _, err := p.config.Log.FindApart(r.Context(), firm, key)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/octet-stream")
	h.Set("Content-Disposition", `attachment; filename="kept-apart-`+key.String()[:12]+`.json"`)
	h.Set("Content-Security-Policy", "sandbox; default-src 'none'")
	h.Set("Cache-Control", "private, no-store")
	w.Write(q.Raw)
	return nil
}

// getCorrect is GET /quarantine/{key}/correct?job=: the form of its kind in that
// job, filled in with what it says.
func (p *pages) getCorrect(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.apartPage(r, firm)
	if err != nil {
		return err
	}
	asked := r.URL.Query()
	job, err := events.ParseID(asked.Get("job"))
	if err == nil {
		_, err = p.config.Store.FindJob(r.Context(), firm, job)
	}
	if err != nil {
		page.Wrong, page.By = web.Wrong{"job": whichJob}, asked.Get("recorder")
		return show(w, http.StatusUnprocessableEntity, page)
	}
	q, _, err := p.config.Log.FindApart(r.Context(), firm, mustKey(page.Key))
	if err != nil {
		return err
	}
	form, query := web.CorrectionOf(q.Read())
	query.Set("apart", page.Key)
	http.Redirect(w, r, "/jobs/"+job.String()+"/record/"+string(form.Kind)+"?"+query.Encode(), http.StatusSeeOther)
	return nil
}

func mustKey(text string) events.Digest {
	key, _ := events.ParseDigest(text) // was written by the page itself
	return key
}

// postDecidePage is POST /quarantine/{key}/decide.
func (p *pages) postDecidePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	page, err := p.apartPage(r, firm)
	if err != nil {
		return err
	}
	n, _ := strconv.Atoi(r.PostFormValue("n"))
	job, _ := events.ParseID(r.PostFormValue("job")) // none: the decision says what is missing
	by, wrong := recorderIn(r, r.PostFormValue("recorder"), page.People, decides)
	d := events.Decision{
		Firm: firm, Key: mustKey(page.Key), N: n, What: events.Settling(r.PostFormValue("what")),
		Why: strings.TrimSpace(r.PostFormValue("why")), By: by, Job: job, At: p.stamp(),
	}
	if len(wrong) > 0 {
		return showDecide(w, r, page, lacking(d, page.Open), http.StatusUnprocessableEntity)
	}
	_, err = p.decide(r.Context(), d)
	var bad *levelling.InputError
	switch {
	case errors.As(err, &bad):
		return showDecide(w, r, page, web.Wrong{fieldOr(bad.Field, "job", "why", "by"): bad.Cure}, http.StatusUnprocessableEntity)
	case errors.Is(err, events.ErrConflict):
		return showDecide(w, r, page, web.Wrong{"": "Somebody else decided about it meanwhile, as stands above."}, http.StatusConflict)
	case err != nil:
		return err
	}
	remember(w, r, &http.Cookie{Name: "recorder", Value: url.QueryEscape(r.PostFormValue("recorder")), Path: "/"})
	http.Redirect(w, r, "/quarantine/"+page.Key, http.StatusSeeOther)
	return nil
}

// lacking is what a decision by nobody lacks, all of it at once. The page of an open
// thing has two forms, and each asks who decides.
func lacking(d events.Decision, open bool) web.Wrong {
	wrong, by := web.Wrong{}, "by"
	if d.What == events.Accepted && d.Job.IsZero() {
		wrong["job"] = whichJob
	}
	if d.What == events.PutAside && open {
		by = "by-aside"
	}
	var bad *levelling.InputError
	if d.What != events.Accepted && errors.As(d.Check(), &bad) {
		wrong[bad.Field] = bad.Cure
	}
	wrong[by] = "missing: who decides this"
	return wrong
}

// fieldOr is a field if the page has an input of that name, and "" for the page
// as a whole.
func fieldOr(field string, inputs ...string) string {
	for _, name := range inputs {
		if name == field {
			return field
		}
	}
	return ""
}

func showDecide(w http.ResponseWriter, r *http.Request, page web.ApartPage, wrong web.Wrong, status int) error {
	page.Wrong, page.Chosen, page.By, page.Why = wrong, r.PostFormValue("job"), r.PostFormValue("recorder"), r.PostFormValue("why")
	return show(w, status, page)
}
