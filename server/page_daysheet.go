package server

import (
	"context"
	"net/http"
	"strconv"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// officeRoutes add the pages over many jobs.
func (p *pages) officeRoutes(own firmRoutes) {
	own.get("/", p.getDaySheet)
	own.get("/lines", p.getSheetLines)
	own.get("/closed", p.getClosedPage)
	own.get("/jobs/{job}/particulars", p.getParticulars)
	own.post("/jobs/{job}/particulars", p.postParticularsPage)
	own.post("/jobs/{job}/closing", p.postClosingPage)
}

// getDaySheet is GET /?crew=: every crew and job on one page.
func (p *pages) getDaySheet(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	want, err := wantedBy(r)
	if err != nil {
		return err
	}
	sh, err := p.readSheet(r.Context(), firm)
	if err != nil {
		return err
	}
	page := sh.page(want, func(job events.ID) { p.summaries.mark(jobKey{firm, job}) })
	page.OfFirm = sh.firmWants()
	page.Who = who(r).person.Name
	return show(w, http.StatusOK, page)
}

// getClosedPage is GET /closed: the jobs that the office has done with.
func (p *pages) getClosedPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	sh, err := p.readSheet(r.Context(), firm)
	if err != nil {
		return err
	}
	page := sh.page(wanted{closed: true}, func(job events.ID) { p.summaries.mark(jobKey{firm, job}) })
	page.Title = "Closed jobs"
	return show(w, http.StatusOK, page)
}

// Bounds on one question for lines.
const (
	mostLines = 60
	lineWait  = 3 * time.Second // for a row that is being written
)

// getSheetLines is GET /lines?job=ID.SEQ&job=…: the lines of jobs as of an event or
// a later one. A row is written behind its append, so the answer waits for it.
func (p *pages) getSheetLines(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	want, err := wantedBy(r)
	if err != nil {
		return err
	}
	asked := r.URL.Query()["job"]
	if len(asked) > mostLines {
		return refuse(http.StatusBadRequest, "More than "+strconv.Itoa(mostLines)+" lines at once.")
	}
	ctx, cancel := context.WithTimeout(r.Context(), lineWait)
	defer cancel()
	sh := &sheet{now: p.config.Now(), zones: map[string]*time.Location{}, rows: map[events.ID]jobs.Summary{}}
	if err := sh.readFirm(r.Context(), p.config.Store, firm); err != nil {
		return err
	}
	if sh.apart, err = p.config.Log.CountQuarantined(r.Context(), firm); err != nil {
		return err
	}
	var lines web.SheetLines
	for _, one := range asked {
		if err := p.addLine(ctx, sh, firm, one, want, &lines); err != nil {
			return err
		}
	}
	return showPart(w, lines, "lines-of-jobs")
}

// addLine adds the line of a job named ID.SEQ, unless it is none that the page shows.
func (p *pages) addLine(ctx context.Context, sh *sheet, firm events.ID, asked string, want wanted, lines *web.SheetLines) error {
	name, seqText, _ := strings.Cut(asked, ".")
	job, err := events.ParseID(name)
	if err != nil {
		return events.ErrNotFound
	}
	seq, _ := strconv.ParseInt(seqText, 10, 64) // what is no number waits for nothing
	j, err := p.config.Store.FindJob(context.WithoutCancel(ctx), firm, job)
	if err != nil {
		return err
	}
	if j.IsClosed() || !want.crew.IsZero() && want.crew != j.Crew {
		return nil
	}
	row, ok, err := p.summaries.reached(ctx, jobKey{firm, job}, seq)
	if err != nil {
		return err
	}
	if ok {
		sh.rows[job] = row
	}
	line := sh.line(j)
	lines.First = append(lines.First, firstOf(line)...)
	lines.Lines = append(lines.Lines, line)
	return nil
}

// showPart sends a part of a page, for one that is open.
func showPart(w http.ResponseWriter, p web.Page, part string) error {
	b, err := web.RenderPart(p, part)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write(b) // a reader that has gone away is no error
	return nil
}
