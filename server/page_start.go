package server

import (
	"cmp"
	"errors"
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// startRoutes add what a new firm needs before anything can be recorded: its
// people, its first job, and what it calls level enough.
func (p *pages) startRoutes(own firmRoutes) {
	own.get("/new-job", p.getNewJob)
	own.post("/new-job", p.postNewJob)
	own.get("/people", p.getPeoplePage)
	own.post("/people", p.postPeoplePage)
	p.personRoutes(own)
	own.get("/profiles", p.getProfilesPage)
	own.post("/profiles", p.postProfilesPage)
	own.get("/devices", p.getDevicesPage)
	own.post("/devices", p.postDevicesPage)
	own.post("/devices/revoke", p.postRevokePage)
	own.get("/kit", p.getKitPage)
	own.get("/kit.csv", p.getKitCSV)
	own.post("/kit/jacks", p.postJackPage)
	own.post("/kit/lasers", p.postLaserPage)
	own.post("/kit/practice", p.postPracticePage)
}

// firmFrame is what stands around a page that is about no job.
func (p *pages) firmFrame(r *http.Request, firm events.ID, title string) (web.Frame, error) {
	f, err := p.config.Store.FindFirm(r.Context(), firm)
	return p.frameOf(r, f, title), err
}

// frameOf is firmFrame where the firm is known already.
func (p *pages) frameOf(r *http.Request, f jobs.Firm, title string) web.Frame {
	return web.Frame{Who: who(r).person.Name, Title: title, Firm: f.Name, Words: f.Words.Words(), Units: f.Units, Zone: inZoneOf(f, p.config.Now()).Location()}
}

// inZoneOf is a time by the clock of a firm, and as it is where the firm named no zone.
func inZoneOf(f jobs.Firm, now time.Time) time.Time {
	if zone, err := time.LoadLocation(f.Zone); err == nil && f.Zone != "" {
		return now.In(zone)
	}
	return now
}

// nowOn is the time by the clock of a page about no job.
func (p *pages) nowOn(page web.Frame) time.Time { return p.config.Now().In(page.Zone) }

// getNewJob is GET /new-job.
func (p *pages) getNewJob(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.newJobPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) newJobPage(r *http.Request, firm events.ID) (page web.NewJobPage, err error) {
	f, err := p.config.Store.FindFirm(r.Context(), firm)
	if err != nil {
		return page, err
	}
	page.Frame = p.frameOf(r, f, "A new job")
	if page.Crews, err = p.config.Store.ListCrews(r.Context(), firm); err != nil {
		return page, err
	}
	id, err := events.NewID(p.config.Now(), p.config.Random)
	page.ID, page.Zone = id.String(), cmp.Or(liked(r, "zone"), f.Zone, p.config.Now().Location().String())
	if page.Zone == "Local" {
		page.Zone = ""
	}
	return page, err
}

// postNewJob is POST /new-job. The job's id was made with the form, so that a
// double press makes one job.
func (p *pages) postNewJob(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, _ := events.ParseID(r.PostFormValue("id")) // zero: a new one
	crew, _ := events.ParseID(r.PostFormValue("crew"))
	j := jobs.Job{ID: id, Name: r.PostFormValue("name"), Place: r.PostFormValue("place"), Zone: r.PostFormValue("zone"), Crew: crew}
	kept, err := p.createJob(r, firm, j)
	if bad := (*levelling.InputError)(nil); errors.As(err, &bad) {
		page, err := p.newJobPage(r, firm)
		if err != nil {
			return err
		}
		page.ID, page.Name, page.Place, page.Zone, page.Crew = r.PostFormValue("id"), j.Name, j.Place, j.Zone, crew
		page.Wrong = web.Wrong{bad.Field: bad.Cure}
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if err != nil {
		return err
	}
	remember(w, r, &http.Cookie{Name: "zone", Value: kept.Zone, Path: "/"})
	http.Redirect(w, r, "/jobs/"+kept.ID.String(), http.StatusSeeOther)
	return nil
}
