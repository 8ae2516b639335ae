package server

import (
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"

	"relevel/events"
	sheets "relevel/jobs/sheet"
	"relevel/server/drawing"
	"relevel/server/web"
)

// mostUploaded is how much of a file that is too large is taken to its end, so that
// the browser hears the answer; no more of it is kept than a sheet may have.
const mostUploaded = 128 << 20

// getSheetsPage is GET /jobs/{job}/sheets: what leads in and out.
func (p *pages) getSheetsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, web.SheetsPage{Frame: p.frame(r, v, "In and out of "+v.job.Name)})
}

// upload is a form with a sheet: chosen as a file, or as it was looked at before.
type upload struct {
	file   []byte
	values url.Values
}

// readUpload takes a form in part by part, and of a file no more than shows that it
// is too large.
func readUpload(w http.ResponseWriter, r *http.Request) (upload, error) {
	r.Body = http.MaxBytesReader(w, r.Body, mostUploaded)
	parts, err := r.MultipartReader()
	if err != nil {
		return upload{}, refuse(http.StatusUnsupportedMediaType, "Send a sheet with the form of this page.")
	}
	u := upload{values: url.Values{}}
	for n := 0; ; n++ {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return u, nil
		}
		if err != nil {
			return u, formError(err)
		}
		if n >= maxParts {
			return u, refuse(http.StatusBadRequest, "This form has more fields than it was sent with.")
		}
		if err := u.take(part); err != nil {
			return u, err
		}
	}
}

// maxParts is more than any form with a sheet has.
const maxParts = 12

func (u *upload) take(part *multipart.Part) error {
	text, err := io.ReadAll(io.LimitReader(part, sheets.MaxBytes+1))
	if err == nil {
		_, err = io.Copy(io.Discard, part)
	}
	if err != nil {
		return formError(err)
	}
	switch name := part.FormName(); {
	case name == "file" && part.FileName() == "" && len(text) == 0: // none was chosen
	case name == "file", name == "text":
		u.file = text
	default:
		u.values.Set(name, string(text[:min(len(text), maxForm)]))
	}
	return nil
}

// records reports whether a form that was looked at is meant now.
func (u upload) records() bool { return u.values.Get("do") == "record" }

// getBookImportPage is GET /jobs/{job}/book/import.
func (p *pages) getBookImportPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, p.bookInPage(r, v))
}

func (p *pages) bookInPage(r *http.Request, v view) web.BookInPage {
	return web.BookInPage{
		Frame: p.frame(r, v, "Level book into "+v.job.Name), Zone: v.zone, Names: v.names,
		SheetForm: web.SheetForm{By: recorderOf(r, v), People: recorders(who(r), v.people, events.KindReading), Columns: sheets.BookColumns(), Example: sheets.BookExample, Name: "book"},
	}
}

// postBookImportPage is POST /jobs/{job}/book/import: first what would be recorded, line
// by line, and once somebody meant it the same is recorded.
func (p *pages) postBookImportPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	u, err := readUpload(w, r)
	if err != nil {
		return err
	}
	page := p.bookInPage(r, v)
	by, wrong := recorderIn(r, u.values.Get("recorder"), v.people, events.KindReading)
	if page.By, page.Wrong = u.values.Get("recorder"), wrong; len(wrong) > 0 || u.file == nil {
		if u.file == nil {
			page.Wrong = merge(wrong, web.Wrong{"file": "missing: choose a CSV file"})
		}
		return show(w, http.StatusUnprocessableEntity, page)
	}
	answer, book, err := p.importBook(r.Context(), v, u.file, by, u.records())
	page.Book, page.Faults, page.Ignored = book, book.Faults, book.Ignored
	if err == nil && u.records() && len(book.Faults) == 0 {
		http.Redirect(w, r, p.afterImport(v, book), http.StatusSeeOther)
		return nil
	}
	if err != nil && (!u.records() || len(book.Events) == 0) {
		return err
	}
	status := statusOf(page.Faults)
	if err != nil { // part of it is in, or nothing
		status, page.Broken = problemOf(err).Status, fmt.Sprintf("%d of %d are recorded; then the store did not answer. Press again: it goes on from there, and nothing is recorded twice.", answer.Stored, len(book.Events))
		p.config.Logger.WarnContext(r.Context(), "a sheet broke off", "err", err)
	}
	if len(page.Faults) == 0 {
		page.Text = string(u.file)
	}
	return show(w, status, page)
}

// afterImport leads to the lines that were recorded.
func (p *pages) afterImport(v view, book sheets.Book) string {
	if len(book.Events) == 0 {
		return v.base() + "/book"
	}
	return savedAt(v.base()+"/book", book.Events[len(book.Events)-1].ID)
}

// getPlanImportPage is GET /jobs/{job}/plan/import.
func (p *pages) getPlanImportPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, p.planInPage(r, v))
}

func (p *pages) planInPage(r *http.Request, v view) web.PlanInPage {
	return web.PlanInPage{
		Frame:     p.frame(r, v, "Plan into "+v.job.Name),
		SheetForm: web.SheetForm{By: recorderOf(r, v), People: recorders(who(r), v.people, events.KindPlan), Columns: sheets.PlanColumns(), Example: sheets.PlanExample, Name: "plan"},
	}
}

// postPlanImportPage is POST /jobs/{job}/plan/import, as postBookImportPage.
func (p *pages) postPlanImportPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	u, err := readUpload(w, r)
	if err != nil {
		return err
	}
	page := p.planInPage(r, v)
	by, wrong := recorderIn(r, u.values.Get("recorder"), v.people, events.KindPlan)
	if page.By, page.Wrong = u.values.Get("recorder"), wrong; len(wrong) > 0 || u.file == nil {
		if u.file == nil {
			page.Wrong = merge(wrong, web.Wrong{"file": "missing: choose a CSV file"})
		}
		return show(w, http.StatusUnprocessableEntity, page)
	}
	plan := sheets.ReadPlan(u.file)
	page.Lines, page.Faults, page.Ignored = plan.Lines, plan.Faults, plan.Ignored
	if len(plan.Faults) > 0 {
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if page.Same = sheets.Same(plan.Plan, v.picture.Plan); u.records() && !page.Same {
		return p.putPlan(w, r, v, plan.Plan, u.values.Get("form"), by)
	}
	return p.showPlan(w, r, v, page, plan.Plan, u.file)
}

// putPlan records a plan that somebody has seen drawn.
func (p *pages) putPlan(w http.ResponseWriter, r *http.Request, v view, plan events.Plan, form string, by events.ID) error {
	id, err := events.ParseID(form)
	if err != nil {
		return refuse(http.StatusBadRequest, "This form is incomplete: open it again.")
	}
	made, err := p.recordPlan(r.Context(), v, plan, id, by)
	if err != nil {
		return err
	}
	http.Redirect(w, r, savedAt(v.base(), made.id), http.StatusSeeOther)
	return nil
}

// showPlan draws a plan beside the present one.
func (p *pages) showPlan(w http.ResponseWriter, r *http.Request, v view, page web.PlanInPage, plan events.Plan, file []byte) error {
	id, err := p.desk.newID()
	if err != nil {
		return err
	}
	page.FormID, page.Text = id.String(), string(file)
	o := v.options(0)
	o.Link = nil
	if len(v.picture.Plan.Supports) > 0 {
		page.Now = svg(drawing.Floor(v.picture, o))
	}
	if !page.Same {
		fresh, err := p.fresh(r.Context(), v, plan)
		if err != nil {
			return err
		}
		page.New, page.Changes = svg(drawing.Floor(fresh, o)), web.PlanChanges(v.picture.Plan, fresh.Plan)
	}
	return show(w, http.StatusOK, page)
}
