package server

import (
	"errors"
	"net/http"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// getFirmPage is GET /firm: how the firm is called and how its screens speak.
func (p *pages) getFirmPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	f, err := p.config.Store.FindFirm(r.Context(), firm)
	if err != nil {
		return err
	}
	page := p.firmPage(r, f)
	page.Kept = r.URL.Query().Has("kept")
	return show(w, http.StatusOK, page)
}

func (p *pages) firmPage(r *http.Request, f jobs.Firm) web.FirmPage {
	return web.FirmPage{Frame: p.frameOf(r, f, "The firm"), Typed: f}
}

// postFirmPage is POST /firm.
func (p *pages) postFirmPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	f, err := p.config.Store.FindFirm(r.Context(), firm)
	if err != nil {
		return err
	}
	page := p.firmPage(r, f)
	f.Name, f.Words = strings.TrimSpace(r.PostFormValue("name")), jobs.Region(r.PostFormValue("words"))
	f.Units, f.Zone = levelling.Unit(r.PostFormValue("units")), strings.TrimSpace(r.PostFormValue("zone"))
	f.Phone, f.Mail = strings.TrimSpace(r.PostFormValue("phone")), strings.TrimSpace(r.PostFormValue("mail"))
	page.Typed, page.Wrong = f, web.Wrong{}
	for _, err := range []error{f.Check(), checkZone(f.Zone)} {
		var bad *levelling.InputError
		if errors.As(err, &bad) {
			page.Wrong[bad.Field] = bad.Cure
		} else if err != nil {
			return err
		}
	}
	if len(page.Wrong) > 0 {
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if err := p.config.Store.UpdateFirm(r.Context(), f); err != nil {
		return err
	}
	http.Redirect(w, r, "/firm?kept", http.StatusSeeOther)
	return nil
}

// checkZone holds a zone against the table of zones; nought is one, too.
func checkZone(zone string) error {
	if _, err := time.LoadLocation(zone); err != nil || zone == "Local" {
		return levelling.Bad("zone", "a time zone, for example Australia/Sydney, or nothing")
	}
	return nil
}
