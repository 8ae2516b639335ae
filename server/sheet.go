package server

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
	sheets "relevel/jobs/sheet"
)

// sheetRoutes add level book and plan as CSV, in and out.
func (p *pages) sheetRoutes(own, api firmRoutes) {
	for _, routes := range []firmRoutes{own, api} {
		routes.get("/jobs/{job}/book.csv", p.getBookSheet)
		routes.get("/jobs/{job}/plan.csv", p.getPlanSheet)
	}
	api.post("/jobs/{job}/book/import", p.postBook)
	api.post("/jobs/{job}/plan/import", p.postPlanSheet)
	api.get("/jobs/{job}/export.json", p.getExport)
	own.get("/jobs/{job}/export.json", p.getExport)
	api.get("/jobs/{job}/bundle.zip", p.getBundle)
	own.get("/jobs/{job}/bundle.zip", p.getBundle)
	own.get("/sheets/{form}", p.getSheetForm)
	own.get("/jobs/{job}/sheets", p.getSheetsPage)
	own.get("/jobs/{job}/book/import", p.getBookImportPage)
	own.post("/jobs/{job}/book/import", p.postBookImportPage)
	own.get("/jobs/{job}/plan/import", p.getPlanImportPage)
	own.post("/jobs/{job}/plan/import", p.postPlanImportPage)
}

// getSheetForm is GET /sheets/{form}: an empty form or an example.
func (p *pages) getSheetForm(w http.ResponseWriter, r *http.Request, _ events.ID) error {
	text, ok := map[string]string{
		"/sheets/book.csv": sheets.BookForm(), "/sheets/plan.csv": sheets.PlanForm(),
		"/sheets/book-example.csv": sheets.BookExample, "/sheets/plan-example.csv": sheets.PlanExample,
	}[r.URL.Path]
	if !ok {
		return events.ErrNotFound
	}
	attach(w, r.URL.Path[len("/sheets/"):], "text/csv; charset=utf-8")
	io.WriteString(w, text) // a reader that has gone away is no error
	return nil
}

// attach names the file that an answer is.
func attach(w http.ResponseWriter, name, media string) {
	w.Header().Set("Content-Type", media)
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
}

// getPlanSheet is GET jobs/{job}/plan.csv: the plan as it stands, with what was found below.
func (p *pages) getPlanSheet(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	picture, err := p.states.picture(r.Context(), key, p.config.Now())
	if err != nil {
		return err
	}
	attach(w, "plan.csv", "text/csv; charset=utf-8")
	sent := &sending{w: w}
	return p.end(r, sent, sheets.WritePlan(sent, picture.Plan))
}

// sending counts what an answer has sent so far.
type sending struct {
	w io.Writer
	n int64
}

func (s *sending) Write(b []byte) (int, error) {
	n, err := s.w.Write(b)
	s.n += int64(n)
	return n, err
}

// end is how an answer that is a file ends. Where it has begun and cannot go on the
// connection is cut, so that nobody takes half a file for a whole one.
func (s *Server) end(r *http.Request, sent *sending, err error) error {
	if err == nil || sent.n == 0 {
		return err
	}
	s.config.Logger.WarnContext(r.Context(), "a file was not sent to its end", "err", err)
	panic(http.ErrAbortHandler)
}

// getBookSheet is GET jobs/{job}/book.csv: every reading of the job, streamed.
func (p *pages) getBookSheet(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	job, err := p.config.Store.FindJob(r.Context(), firm, key.job)
	if err != nil {
		return err
	}
	people, err := p.config.Store.ListPeople(r.Context(), firm)
	if err != nil {
		return err
	}
	attach(w, "book.csv", "text/csv; charset=utf-8")
	sent := &sending{w: w}
	out := bufio.NewWriterSize(sent, 64<<10)
	book := sheets.NewBookWriter(out, zoneOf(job), namesOf(people))
	err = p.eachPage(r.Context(), key, func(stored []events.Stored, line func(events.Stored) jobs.Line) error {
		for _, e := range stored {
			book.Add(e, line(e))
		}
		return nil
	})
	if err == nil {
		err = book.End()
	}
	if err == nil {
		err = out.Flush()
	}
	return p.end(r, sent, err)
}

// eachPage hands a log over page by page, with the lines that its events have in the
// book. No more than a page of it is in memory.
func (s *Server) eachPage(ctx context.Context, key jobKey, f func(page []events.Stored, line func(events.Stored) jobs.Line) error) error {
	after := int64(0)
	for {
		page, err := s.config.Log.Read(ctx, key.firm, key.job, after, readPage)
		if err != nil {
			return fmt.Errorf("read the log: %w", err)
		}
		lines := make(map[events.ID]jobs.Line, len(page))
		err = s.states.use(ctx, key, func(state *jobs.State) {
			for _, e := range page {
				lines[e.ID] = state.Line(e)
			}
		})
		if err != nil {
			return err
		}
		if err := f(page, func(e events.Stored) jobs.Line { return lines[e.ID] }); err != nil {
			return err
		}
		if len(page) < readPage {
			return nil
		}
		after = page[len(page)-1].Seq
	}
}

// bookAnswer is what became of a book, or would.
type bookAnswer struct {
	Lines   []sheets.BookLine `json:"lines"`
	Faults  []sheets.Fault    `json:"faults"`
	Ignored []string          `json:"ignored,omitempty"`
	Check   string            `json:"check,omitempty"`
	Events  int               `json:"events"` // that are new
	Stored  int               `json:"stored"` // of those, now
}

// postBook is POST jobs/{job}/book/import?try=1&by=: a CSV as its body. With faults
// nothing is recorded and the answer is 422; with try=1 nothing is recorded at all.
func (p *pages) postBook(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, file, err := p.sheetSent(w, r, firm)
	if err != nil {
		return err
	}
	by, faults := byOf(r, v.people)
	if len(faults) > 0 {
		return reply(w, statusOf(faults), bookAnswer{Lines: []sheets.BookLine{}, Faults: faults})
	}
	answer, _, err := p.importBook(r.Context(), v, file, by, r.URL.Query().Get("try") != "1")
	if err != nil {
		return err
	}
	return reply(w, statusOf(answer.Faults), answer)
}

func statusOf(faults []sheets.Fault) int {
	if len(faults) > 0 {
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}

// byOf reads who recorded a sheet. Nobody is a fault like any other.
func byOf(r *http.Request, people []jobs.Person) (events.ID, []sheets.Fault) {
	id, wrong := recorderIn(r, r.URL.Query().Get("by"), people, events.KindReading)
	if len(wrong) > 0 {
		return id, []sheets.Fault{{Column: "by", Cure: "missing in the address: ?by= and the id of one of the firm's people, who recorded it"}}
	}
	return id, nil
}

// sheetSent is the job and the CSV of a request of the API. A file that is too large
// is read no further than what shows it.
func (p *pages) sheetSent(w http.ResponseWriter, r *http.Request, firm events.ID) (v view, file []byte, err error) {
	if v, err = p.look(r, firm); err != nil {
		return v, nil, err
	}
	file, err = io.ReadAll(io.LimitReader(http.MaxBytesReader(w, r.Body, mostUploaded), sheets.MaxBytes+1))
	if err != nil {
		return v, nil, fmt.Errorf("read a sheet: %w", err)
	}
	return v, file, nil
}

// importBook reads a book into a job. What was stored before something failed is
// told with the failure: the same book goes on from there.
func (p *pages) importBook(ctx context.Context, v view, file []byte, by events.ID, record bool) (bookAnswer, sheets.Book, error) {
	release, err := p.imports.take(ctx, v.key)
	if err != nil {
		return bookAnswer{}, sheets.Book{}, err
	}
	defer release()
	book, err := p.readBook(ctx, v, file, by)
	answer := bookAnswer{Lines: book.Lines, Faults: book.Faults, Ignored: book.Ignored, Check: book.Check, Events: len(book.Events)}
	if answer.Lines == nil {
		answer.Lines = []sheets.BookLine{}
	}
	if answer.Faults == nil {
		answer.Faults = []sheets.Fault{}
	}
	if err != nil || len(book.Faults) > 0 || !record {
		return answer, book, err
	}
	answer.Stored, err = p.recordMade(ctx, v.key, book.Events)
	return answer, book, err
}

// readBook reads a book against the whole log of its job; few do so at once.
func (p *pages) readBook(ctx context.Context, v view, file []byte, by events.ID) (sheets.Book, error) {
	select {
	case p.refolds <- struct{}{}:
		defer func() { <-p.refolds }()
	case <-ctx.Done():
		return sheets.Book{}, ctx.Err()
	}
	log, err := readAll(ctx, p.config.Log, v.key, -1)
	if err != nil {
		return sheets.Book{}, err
	}
	site := sheets.Site{Job: v.key.job, Zone: v.zone, People: v.people, By: by, Log: log}
	book := sheets.ReadBook(file, site)
	sheets.Weigh(&book, site)
	return book, nil
}

// recordMade appends events in their order, as many at once as a log takes, and says
// how many are stored. One that the log would not have, though it was looked at
// before, is an error: somebody used its id for something else.
func (s *Server) recordMade(ctx context.Context, key jobKey, made []events.Event) (stored int, err error) {
	for _, raws := range portions(made) {
		answer, err := s.record(ctx, key, raws)
		if err != nil {
			return stored, err
		}
		for _, r := range answer.Results {
			if r.Outcome == events.WasQuarantined {
				return stored, fmt.Errorf("event %s of a sheet was kept apart: %s", r.ID, r.Reason)
			}
			stored++
		}
	}
	return stored, nil
}

// portions splits events into what a log takes at once.
func portions(made []events.Event) (all [][]json.RawMessage) {
	size := events.MaxBatchBytes + 1 // the first begins one
	for _, e := range made {
		raw, err := json.Marshal(e)
		if err != nil {
			panic(fmt.Sprintf("an event of our own cannot be written: %v", err))
		}
		if size += len(raw); size > events.MaxBatchBytes || len(all[len(all)-1]) >= events.MaxBatchEvents {
			all, size = append(all, nil), len(raw)
		}
		all[len(all)-1] = append(all[len(all)-1], raw)
	}
	return all
}

// planAnswer is what became of a plan, or would.
type planAnswer struct {
	Lines   []sheets.PlanLine `json:"lines"`
	Faults  []sheets.Fault    `json:"faults"`
	Ignored []string          `json:"ignored,omitempty"`
	Same    bool              `json:"same"`   // as the plan that there is: nothing is recorded
	Stored  int               `json:"stored"` // events
}

// postPlanSheet is POST jobs/{job}/plan/import?try=1&by=, as postBook.
func (p *pages) postPlanSheet(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, file, err := p.sheetSent(w, r, firm)
	if err != nil {
		return err
	}
	by, faults := byOf(r, v.people)
	if len(faults) > 0 {
		return reply(w, statusOf(faults), planAnswer{Lines: []sheets.PlanLine{}, Faults: faults})
	}
	plan := sheets.ReadPlan(file)
	answer := planAnswer{Lines: plan.Lines, Faults: plan.Faults, Ignored: plan.Ignored, Same: sheets.Same(plan.Plan, v.picture.Plan)}
	if answer.Faults == nil {
		answer.Faults = []sheets.Fault{}
	}
	if answer.Lines == nil {
		answer.Lines = []sheets.PlanLine{}
	}
	if len(plan.Faults) == 0 && !answer.Same && r.URL.Query().Get("try") != "1" {
		id, err := p.desk.newID()
		if err != nil {
			return err
		}
		if _, err := p.recordPlan(r.Context(), v, plan.Plan, id, by); err != nil {
			return err
		}
		answer.Stored = 1
	}
	return reply(w, statusOf(plan.Faults), answer)
}

// recordPlan records a plan at the desk, as the form for plans does.
func (p *pages) recordPlan(ctx context.Context, v view, plan events.Plan, id, by events.ID) (*draft, error) {
	body, err := json.Marshal(plan)
	if err != nil {
		return nil, fmt.Errorf("write a plan: %w", err)
	}
	made, err := p.take(ctx, entry{id: id, key: v.key, kind: events.KindPlan, by: by, seen: v.picture.Seq, zone: v.zone, bodies: []json.RawMessage{body}})
	if err != nil || p.desk.isStored(made) {
		return made, err
	}
	if _, err := p.record(ctx, v.key, made.raws); err != nil {
		return nil, err
	}
	p.desk.stored(made, "Saved. The plan is in.", "")
	return made, nil
}

// fresh is how a picture of the job would look with a plan that is not recorded yet.
func (p *pages) fresh(ctx context.Context, v view, plan events.Plan) (jobs.Picture, error) {
	select {
	case p.refolds <- struct{}{}:
		defer func() { <-p.refolds }()
	case <-ctx.Done():
		return jobs.Picture{}, ctx.Err()
	}
	log, err := readAll(ctx, p.config.Log, v.key, -1)
	if err != nil {
		return jobs.Picture{}, err
	}
	body, err := json.Marshal(plan)
	if err != nil {
		return jobs.Picture{}, fmt.Errorf("write a plan: %w", err)
	}
	at := v.now.Truncate(time.Millisecond)
	e := events.Event{ID: events.ID{1}, Job: v.key.job, Kind: events.KindPlan, V: 1, At: at, Device: events.ID{1}, DeviceSeq: 1, Body: body}
	raw, err := json.Marshal(e)
	if err != nil {
		return jobs.Picture{}, fmt.Errorf("write a plan: %w", err)
	}
	log = append(log, events.Stored{Event: e, Seq: int64(len(log)) + 1, RecordedAt: at, Raw: raw})
	return jobs.Refold(v.key.job, log).Picture(v.now), nil
}
