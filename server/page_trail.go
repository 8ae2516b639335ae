package server

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// traceLines is how many lines of the trail a page shows.
const traceLines = 100

// getTrail is GET /trail?who=&what=&job=&until=&at=&id=: who came and who saw what, the
// newest first.
func (p *pages) getTrail(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	p.trail.write(r.Context()) // what just happened, too
	page := web.TrailPage{Wrong: web.Wrong{}}
	var err error
	if page.Frame, err = p.firmFrame(r, firm, "Who came, and who saw what"); err != nil {
		return err
	}
	names, err := p.traceNames(r, firm, &page)
	if err != nil {
		return err
	}
	f := p.traceFilter(r, &page)
	page.OfJob = names[f.Job]
	traces, err := p.config.Store.ListTraces(r.Context(), firm, f)
	if err != nil {
		return err
	}
	if len(traces) > traceLines {
		traces = traces[:traceLines]
		page.Older = olderThan(r, traces[traceLines-1])
	}
	page.Traces = traceLinesOf(traces, names, p.nowOn(page.Frame))
	status := http.StatusOK
	if len(page.Wrong) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return show(w, status, page)
}

// traceFilter reads what is to be shown. A day is that of the firm's zone, and all of
// it is shown.
func (p *pages) traceFilter(r *http.Request, page *web.TrailPage) jobs.TraceFilter {
	asked := r.URL.Query()
	f := jobs.TraceFilter{Limit: traceLines + 1}
	page.Of, page.What, page.Until = asked.Get("who"), asked.Get("what"), asked.Get("until")
	f.Who, _ = events.ParseID(page.Of)
	f.Job, _ = events.ParseID(asked.Get("job"))
	if slices.Contains(jobs.AllHappened(), jobs.Happened(page.What)) {
		f.What = jobs.Happened(page.What)
	}
	if page.Until != "" {
		day, err := time.ParseInLocation(time.DateOnly, page.Until, page.Frame.Zone)
		if err != nil {
			page.Wrong["until"] = "a day, such as 2026-03-02"
		} else {
			f.Until = day.AddDate(0, 0, 1)
		}
	}
	if at, err := time.Parse(time.RFC3339Nano, asked.Get("at")); err == nil {
		f.After.At = at
		f.After.ID, _ = events.ParseID(asked.Get("id"))
	}
	return f
}

// olderThan is the address of the lines after one.
func olderThan(r *http.Request, last jobs.Trace) string {
	q := url.Values{}
	for name, values := range r.URL.Query() {
		q[name] = values
	}
	q.Set("at", last.At.Format(time.RFC3339Nano))
	q.Set("id", last.ID.String())
	return "/trail?" + q.Encode()
}

// traceNames are the names of those and of what the trail speaks of.
func (p *pages) traceNames(r *http.Request, firm events.ID, page *web.TrailPage) (map[events.ID]string, error) {
	people, err := p.config.Store.ListPeople(r.Context(), firm)
	if err != nil {
		return nil, err
	}
	tokens, err := p.config.Store.ListTokens(r.Context(), firm)
	if err != nil {
		return nil, err
	}
	told, err := p.config.Store.ListHooks(r.Context(), firm)
	if err != nil {
		return nil, err
	}
	calendars, err := p.config.Store.ListCalendars(r.Context(), firm)
	if err != nil {
		return nil, err
	}
	shares, err := p.config.Store.ListShares(r.Context(), firm, events.ID{})
	if err != nil {
		return nil, err
	}
	all, err := p.config.Store.ListJobs(r.Context(), firm)
	page.People = people
	names := namesOf(people)
	for _, t := range tokens {
		names[t.ID] = t.Name
	}
	for _, h := range told {
		names[h.ID] = h.Name
	}
	for _, c := range calendars {
		names[c.ID] = c.Name
	}
	for _, one := range shares {
		names[one.ID] = "the link for " + one.Name
	}
	for _, j := range all {
		names[j.ID] = j.Name
	}
	return names, err
}

func traceLinesOf(traces []jobs.Trace, names map[events.ID]string, now time.Time) (lines []web.TraceLine) {
	day := ""
	for _, t := range traces {
		at := t.At.In(now.Location())
		line := web.TraceLine{Time: at.Format(web.Clock), Who: traceWho(t, names), What: traceWhat(t, names), From: t.Address}
		if today := at.Format("Monday 2 January 2006"); today != day {
			day, line.Day = today, today
		}
		lines = append(lines, line)
	}
	return lines
}

// traceWho names who did something, and by what access where it was no person.
func traceWho(t jobs.Trace, names map[events.ID]string) string {
	switch {
	case names[t.By] != "":
		return names[t.By]
	case names[t.Token] != "":
		return names[t.Token]
	case !t.By.IsZero():
		return "somebody whose name was erased"
	}
	return "nobody known"
}

// traceWhat says what happened, and to whom.
func traceWhat(t jobs.Trace, names map[events.ID]string) string {
	words := []string{string(t.What)}
	for _, id := range []events.ID{t.About, t.Job} {
		if names[id] != "" {
			words = append(words, names[id])
		}
	}
	text := strings.Join(words, ": ")
	if t.Detail != "" {
		text += ", " + strings.ReplaceAll(t.Detail, "-", " ")
	}
	return text
}
