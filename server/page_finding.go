package server

import (
	"cmp"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// findingRoutes add the pages of what was found.
func (p *pages) findingRoutes(own firmRoutes) {
	own.get("/findings", p.getFirmFindings)
	own.get("/jobs/{job}/findings", p.getFindingsPage)
	own.get("/jobs/{job}/findings/{finding}", p.getFindingPage)
	own.post("/jobs/{job}/findings/{finding}", p.postFindingPage)
}

// getFindingsPage is GET /jobs/{job}/findings?state=&trade=&owner=.
func (p *pages) getFindingsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page := web.FindingsPage{Frame: p.frame(r, v, "Findings of "+v.job.Name), Record: v.record(events.KindFinding, "")}
	page.Live = v.live()
	where := drawing.Where(v.picture)
	var lines []web.FindingLine
	for _, f := range v.picture.Found {
		line := v.findingLine(f)
		line.Where = svg(where(f.Supports))
		lines = append(lines, line)
	}
	fillFindings(&page, lines, r.URL.Query(), v.names)
	return show(w, http.StatusOK, page)
}

func (v view) findingLine(f jobs.Finding) web.FindingLine {
	line := web.FindingLine{
		Finding: f, Href: v.base() + "/findings/" + f.ID.String(), Line: v.bookLine(f.Seq), Who: whoSees(v.names, f.Owner, f.Trade),
		When: web.When(f.At.In(v.zone), v.now), Photos: photosIn(f.Files),
	}
	if f.Open {
		line.DueIn = web.DueWords(f.Due, v.now)
	}
	for _, id := range f.Supports {
		line.At = append(line.At, web.Action{Verb: id, Href: v.supportPage(id)})
	}
	for _, s := range f.Since {
		line.Photos = append(line.Photos, photosIn(s.Files)...)
	}
	return line
}

// whoSees names who of the firm sees to a finding, and the trade that mends it.
func whoSees(names map[events.ID]string, owner events.ID, trade string) string {
	return strings.Join(slices.DeleteFunc([]string{names[owner], trade}, func(s string) bool { return s == "" }), ", ")
}

// bookLine is where a line of the book stands.
func (v view) bookLine(seq int64) string { return web.BookLineHref(v.base(), seq) }

// fillFindings puts what is open first, the one that is due first before the
// others, and lets through what the filter asks for.
func fillFindings(page *web.FindingsPage, lines []web.FindingLine, asked url.Values, names map[events.ID]string) {
	page.Filter, page.All = web.ReadFindingFilter(asked), len(lines)
	slices.SortStableFunc(lines, func(a, b web.FindingLine) int {
		return cmp.Or(-compareBool(a.Open, b.Open), cmp.Compare(dueOrLast(a.Due), dueOrLast(b.Due)))
	})
	owners := map[events.ID]bool{}
	for _, l := range lines {
		if l.Trade != "" && !slices.Contains(page.Trades, l.Trade) {
			page.Trades = append(page.Trades, l.Trade)
		}
		if name := names[l.Owner]; name != "" && !owners[l.Owner] {
			owners[l.Owner] = true
			page.Owners = append(page.Owners, web.Choice{Value: l.Owner.String(), Label: name})
		}
		if page.Filter.Shows(l) {
			page.Lines = append(page.Lines, l)
			page.Photos = page.Photos || len(l.Photos) > 0
		}
	}
	slices.Sort(page.Trades)
	slices.SortFunc(page.Owners, func(a, b web.Choice) int { return cmp.Compare(a.Label, b.Label) })
	page.Hidden = len(lines) - len(page.Lines)
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// dueOrLast sorts what is due on no day after all that is.
func dueOrLast(due string) string { return cmp.Or(due, "9999-12-31") }

// getFirmFindings is GET /findings?state=&trade=&owner=: what is open on all jobs.
// It reads the one row a job that is kept for such pages, and folds none.
func (p *pages) getFirmFindings(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page := web.FindingsPage{}
	var err error
	if page.Frame, err = p.firmFrame(r, firm, "Findings"); err != nil {
		return err
	}
	people, err := p.config.Store.ListPeople(r.Context(), firm)
	if err != nil {
		return err
	}
	list, err := p.listJobs(r, firm)
	if err != nil {
		return err
	}
	names := namesOf(people)
	var lines []web.FindingLine
	for _, j := range list {
		if j.Brief == nil {
			page.Waiting++
			continue
		}
		owed := j.Brief.Owed
		page.More += owed.MoreFindings
		for _, f := range owed.Findings {
			lines = append(lines, owedLine(j.Job, f, names, p.config.Now()))
		}
	}
	fillFindings(&page, lines, r.URL.Query(), names)
	return show(w, http.StatusOK, page)
}

// owedLine is one finding as the row of its job has it.
func owedLine(j jobs.Job, f jobs.OwedFinding, names map[events.ID]string, now time.Time) web.FindingLine {
	base, there := "/jobs/"+j.ID.String(), now.In(zoneOf(j))
	line := web.FindingLine{
		Finding: jobs.Finding{Item: f.Item, What: f.Text, Cause: f.Cause, Owner: f.Owner, Trade: f.Trade, Due: f.Due},
		Href:    base + "/findings/" + f.ID.String(), Line: web.BookLineHref(base, f.Seq), JobName: j.Name, JobHref: base,
		Who: whoSees(names, f.Owner, f.Trade), When: web.When(f.At.In(there.Location()), there), DueIn: web.DueWords(f.Due, there),
	}
	line.Overdue = line.DueIn != ""
	for _, id := range f.Supports {
		line.At = append(line.At, web.Action{Verb: id, Href: base + "/supports/" + pathEscape(id)})
	}
	return line
}

// getFindingPage is GET /jobs/{job}/findings/{finding}?do=.
func (p *pages) getFindingPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	f, err := findingOf(r, v)
	if err != nil {
		return err
	}
	page := p.findingPage(r, v, f)
	if do := r.URL.Query().Get("do"); slices.ContainsFunc(page.Ways, func(a web.Action) bool { return a.Href == "?do="+do+"#reply" }) {
		if page.Reply, err = p.reply(r, v, do, findingReply(f, do)); err != nil {
			return err
		}
		page.Reply.Values.Set("owner", ownerText(f))
		page.Reply.Values.Set("trade", f.Trade)
		page.Reply.Values.Set("by", f.Due)
	}
	return show(w, http.StatusOK, page)
}

func ownerText(f jobs.Finding) string {
	if f.Owner.IsZero() {
		return ""
	}
	return f.Owner.String()
}

// findingReply is what a form on a finding's page says whoever fills it in.
func findingReply(f jobs.Finding, do string) url.Values {
	switch do {
	case "close":
		return url.Values{"finding": {f.ID.String()}}
	case "again":
		return url.Values{"of": {f.ID.String()}, "again": {"yes"}}
	}
	return url.Values{"of": {f.ID.String()}}
}

// postFindingPage is POST /jobs/{job}/findings/{finding}: it is given to somebody,
// answered, closed or opened again.
func (p *pages) postFindingPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	f, err := findingOf(r, v)
	if err != nil {
		return err
	}
	sent, err := readSent(w, r)
	if err != nil {
		return err
	}
	defer sent.close()
	do := r.PostFormValue("do")
	keepRecorder(w, r)
	typed := maps.Clone(r.PostForm)
	dropUnchanged(r.PostForm, f)
	again, saved, err := p.takeReply(r, v, sent, do, findingReply(f, do))
	if err != nil {
		return err
	}
	if again != nil {
		page := p.findingPage(r, v, f)
		page.Reply, again.Values = again, typed
		return show(w, http.StatusUnprocessableEntity, page)
	}
	http.Redirect(w, r, savedAt(r.URL.Path, saved), http.StatusSeeOther)
	return nil
}

// dropUnchanged leaves out what a form was filled in with beforehand and still
// says: the record tells what is other now. Person and trade go together.
func dropUnchanged(form url.Values, f jobs.Finding) {
	if form.Get("owner") == ownerText(f) && strings.TrimSpace(form.Get("trade")) == f.Trade {
		form.Del("owner")
		form.Del("trade")
	}
	if form.Get("by") == f.Due {
		form.Del("by")
	}
}

func findingOf(r *http.Request, v view) (jobs.Finding, error) {
	id, err := events.ParseID(mux.Vars(r)["finding"])
	i := slices.IndexFunc(v.picture.Found, func(f jobs.Finding) bool { return f.ID == id })
	if err != nil || i < 0 {
		return jobs.Finding{}, refuse(http.StatusNotFound, "There is no such finding on this job. It may have been voided: look in the book.")
	}
	return v.picture.Found[i], nil
}

func (p *pages) findingPage(r *http.Request, v view, f jobs.Finding) web.FindingPage {
	page := web.FindingPage{Frame: p.frame(r, v, "Finding on "+v.job.Name), Finding: v.findingLine(f)}
	page.Finding.Where = svg(drawing.Where(v.picture)(f.Supports))
	page.Finding.Photos = photosIn(f.Files)
	for _, s := range f.Since {
		page.Said = append(page.Said, v.saidLine(s))
	}
	page.Ways = []web.Action{{Verb: "Open it again", Href: "?do=again#reply"}}
	if f.Open {
		page.Ways = []web.Action{{Verb: "Close it", Href: "?do=close#reply"}, {Verb: "Give it to somebody, answer it", Href: "?do=follow#reply"}}
	}
	return page
}

// saidLine is what a record says of an earlier one, with the names that it does
// not hold itself.
func (v view) saidLine(s jobs.Said) web.SaidLine {
	line := web.SaidLine{Said: s, Text: s.Text, When: web.When(s.At.In(v.zone), v.now), By: v.names[s.By], Line: v.bookLine(s.Seq), Photos: photosIn(s.Files)}
	if name := v.names[s.Owner]; name != "" {
		line.Text = joinSaid("given to "+name, s.Text)
	}
	return line
}

func joinSaid(first, rest string) string {
	if rest == "" {
		return first
	}
	return first + "; " + rest
}

// keepRecorder remembers on the device who records.
func keepRecorder(w http.ResponseWriter, r *http.Request) {
	if v := r.PostFormValue("recorder"); v != "" && len(v) < mostKept {
		remember(w, r, &http.Cookie{Name: "recorder", Value: url.QueryEscape(v), Path: "/"})
	}
}
