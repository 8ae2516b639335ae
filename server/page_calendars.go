package server

import (
	"errors"
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// getCalendarsPage is GET /calendars.
func (p *pages) getCalendarsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.calendarsPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) calendarsPage(r *http.Request, firm events.ID) (page web.CalendarsPage, err error) {
	if page.Frame, err = p.firmFrame(r, firm, "Calendars"); err != nil {
		return page, err
	}
	if page.Crews, err = p.config.Store.ListCrews(r.Context(), firm); err != nil {
		return page, err
	}
	names := map[events.ID]string{}
	for _, c := range page.Crews {
		names[c.ID] = c.Name
	}
	links, err := p.config.Store.ListCalendars(r.Context(), firm)
	now := p.nowOn(page.Frame)
	for _, c := range links {
		line := web.CalendarLine{ID: c.ID.String(), Name: c.Name, Crew: names[c.Crew], Since: web.When(c.CreatedAt.In(now.Location()), now)}
		if !c.RevokedAt.IsZero() {
			line.Revoked = web.When(c.RevokedAt.In(now.Location()), now)
		}
		page.Links = append(page.Links, line)
	}
	if err != nil {
		return page, err
	}
	id, err := events.NewID(now, p.config.Random)
	page.ID = id.String()
	return page, err
}

// postCalendarsPage is POST /calendars: another link, shown on this page alone.
func (p *pages) postCalendarsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	text, made, err := p.makeCalendar(r, firm)
	var bad *levelling.InputError
	if err != nil && !errors.As(err, &bad) {
		return err
	}
	page, failed := p.calendarsPage(r, firm)
	if failed != nil {
		return failed
	}
	if bad != nil {
		page.Name, page.Crew, page.Wrong = r.PostFormValue("name"), r.PostFormValue("crew"), web.Wrong{bad.Field: bad.Cure}
		return show(w, http.StatusUnprocessableEntity, page)
	}
	for _, c := range page.Crews {
		if c.ID == made.Crew {
			page.MadeCrew = c.Name
		}
	}
	p.trail.note(firm, r, jobs.Trace{What: jobs.CalendarMade, About: made.ID})
	page.Made = p.address(r) + calendarPath + text + ".ics"
	return show(w, http.StatusCreated, page)
}

// makeCalendar makes a link, of which only the hash is kept.
func (p *pages) makeCalendar(r *http.Request, firm events.ID) (text string, c jobs.Calendar, err error) {
	c = jobs.Calendar{Firm: firm, Name: r.PostFormValue("name"), CreatedAt: p.stamp()}
	c.ID, _ = events.ParseID(r.PostFormValue("id"))
	if err := p.nameIt(&c.ID); err != nil {
		return "", c, err
	}
	if c.Crew, err = events.ParseID(r.PostFormValue("crew")); err != nil || c.Crew.IsZero() {
		return "", c, levelling.Bad("crew", "missing: whose days it shows")
	}
	if err := p.checkCrew(r, firm, c.Crew); err != nil {
		return "", c, err
	}
	if err := c.Check(); err != nil {
		return "", c, err
	}
	if text, c.Hash, err = jobs.NewToken(firm, p.config.Random); err != nil {
		return "", c, err
	}
	return text, c, p.config.Store.CreateCalendar(r.Context(), c)
}

// postRevokeCalendar is POST /calendars/revoke.
func (p *pages) postRevokeCalendar(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, err := events.ParseID(r.PostFormValue("calendar"))
	if err != nil {
		return events.ErrNotFound
	}
	if err := p.config.Store.RevokeCalendar(r.Context(), firm, id, p.stamp()); err != nil {
		return err
	}
	p.trail.note(firm, r, jobs.Trace{What: jobs.CalendarOver, About: id})
	http.Redirect(w, r, "/calendars", http.StatusSeeOther)
	return nil
}
