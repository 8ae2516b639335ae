package server

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"relevel/events"
	"relevel/server/web"
)

// officeRoutes add the pages over many jobs.
func (p *pages) officeRoutes(own firmRoutes) {
	own.get("/", p.getDaySheet)
	own.get("/lines", p.getSheetLines)
	own.get("/closed", p.getClosedPage)
	own.get("/diary", p.getDiaryPage)
	own.get("/calendars", p.getCalendarsPage)
	own.post("/calendars", p.postCalendarsPage)
	own.post("/calendars/revoke", p.postRevokeCalendar)
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
	return p.showSheet(w, r, firm, want)
}

// getClosedPage is GET /closed: the jobs that the office has done with.
func (p *pages) getClosedPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	return p.showSheet(w, r, firm, wanted{closed: true})
}

func (p *pages) showSheet(w http.ResponseWriter, r *http.Request, firm events.ID, want wanted) error {
	sh, err := p.readSheet(r.Context(), firm, want.closed)
	if err != nil {
		return err
	}
	lines, err := p.lines(r.Context(), sh, want)
	if err != nil {
		return err
	}
	page := sh.page(want, lines)
	page.Who = who(r).person.Name
	if want.closed {
		page.Title = "Closed jobs"
	} else {
		page.OfFirm = sh.firmWants()
	}
	return p.sendSheet(w, r, page)
}

// sendSheet sends a sheet as it was sent before, if nothing on it is new: what stands
// around the lines, and which lines they are, says all that is on it.
func (p *pages) sendSheet(w http.ResponseWriter, r *http.Request, page web.DaySheetPage) error {
	around, err := web.Render(page)
	if err != nil {
		return err
	}
	sum := sha256.New()
	sum.Write(around)
	as := uint64(who(r).as()) // whose links it has
	for _, n := range append(page.Made(), as) {
		sum.Write(binary.BigEndian.AppendUint64(nil, n))
	}
	p.sendKnown(w, r, [sha256.Size]byte(sum.Sum(nil)), func() []byte { return page.WithRows(around) })
	return nil
}

// Bounds on one question for lines.
const (
	mostLines = 60
	lineWait  = 3 * time.Second // for a row that is being written
)

// getSheetLines is GET /lines?job=ID.SEQ&job=…: the lines of jobs as of an event or
// a later one. A row is written behind its append, so the answer waits for it. All
// pages that are open ask for the same in the same moment, and it is made once for a
// firm: by whom it is asked counts only where links are taken out, which is after.
func (p *pages) getSheetLines(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	want, err := wantedBy(r)
	if err != nil {
		return err
	}
	asked := r.URL.Query()["job"]
	if len(asked) > mostLines {
		return refuse(http.StatusBadRequest, "More than "+strconv.Itoa(mostLines)+" lines at once.")
	}
	key := fmt.Sprintf("%s %s %t %q", firm, want.crew, want.closed, asked)
	part, err, _ := p.asking.Do(key, func() (any, error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(r.Context()), lineWait)
		defer cancel()
		return p.sheetLines(ctx, firm, asked, want)
	})
	if err != nil {
		return err
	}
	sendPage(w, http.StatusOK, part.([]byte))
	return nil
}

// sheetLines makes the lines that were asked for, each as ID.SEQ.
func (p *pages) sheetLines(ctx context.Context, firm events.ID, asked []string, want wanted) ([]byte, error) {
	sh := p.newSheet()
	err := sh.readFirm(ctx, p.config.Store, firm)
	if err != nil {
		return nil, err
	}
	if sh.apart, err = p.config.Log.Undecided(ctx, firm); err != nil {
		return nil, err
	}
	var lines web.SheetLines
	for _, one := range asked {
		line, ok, err := p.askedLine(ctx, sh, one, want)
		if err != nil {
			return nil, err
		}
		if ok {
			lines.First, lines.Lines = append(lines.First, firstOf(line)...), append(lines.Lines, line)
		}
	}
	return web.RenderPart(lines, "lines-of-jobs")
}

// askedLine is the line of a job named ID.SEQ, unless it is none that the page shows.
func (p *pages) askedLine(ctx context.Context, sh *sheet, asked string, want wanted) (line web.SheetLine, ok bool, err error) {
	name, seqText, _ := strings.Cut(asked, ".")
	job, err := events.ParseID(name)
	if err != nil {
		return line, false, events.ErrNotFound
	}
	seq, _ := strconv.ParseInt(seqText, 10, 64) // what is no number waits for nothing
	j, err := p.config.Store.FindJob(context.WithoutCancel(ctx), sh.firm.ID, job)
	if err != nil || !want.has(j) {
		return line, false, err
	}
	row, known, err := p.summaries.reached(ctx, jobKey{sh.firm.ID, job}, seq)
	if err != nil {
		return line, false, err
	}
	of := &row
	if !known {
		of = nil
	}
	made, err := p.makeLine(sh, j, of)
	return made.line, err == nil, err
}
