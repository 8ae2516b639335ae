package server

import (
	"errors"
	"net/http"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// getDevicesPage is GET /devices: what opens the firm's jobs, and a code for
// another phone.
func (p *pages) getDevicesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.devicesPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) devicesPage(r *http.Request, firm events.ID) (page web.DevicesPage, err error) {
	if page.Frame, err = p.firmFrame(r, firm, "Devices"); err != nil {
		return page, err
	}
	list, err := p.accesses(r, firm)
	now, told := p.nowOn(page.Frame), map[events.ID]bool{}
	for _, one := range list {
		line := web.DeviceLine{ID: one.ID.String(), Name: one.Name, Since: web.When(one.CreatedAt.In(now.Location()), now), This: one.This}
		if one.RevokedAt != nil {
			line.Revoked = web.When(one.RevokedAt.In(now.Location()), now)
		}
		if one.phone != nil && !told[one.DeviceID] { // paired again, the newest access tells of it
			told[one.DeviceID] = true
			line.Lost, line.Said = web.LostWords(one.phone.Seen.Missing()), web.PhoneSays(*one.phone, now)
		}
		page.Devices = append(page.Devices, line)
	}
	return page, err
}

// postDevicesPage is POST /devices: a code, shown on this page alone.
func (p *pages) postDevicesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.devicesPage(r, firm)
	if err != nil {
		return err
	}
	code, until, err := p.pairingCode(r.Context(), firm)
	if err != nil {
		return err
	}
	if page.Square, err = web.Square(strings.ReplaceAll(code, "-", "")); err != nil {
		return err
	}
	page.Own = p.config.Root != nil
	page.Code, page.Until, page.Host = code, until.In(page.Frame.Zone).Format(web.Clock), r.Host
	w.Header().Set("Cache-Control", "no-store")
	return show(w, http.StatusCreated, page)
}

// postRevokePage is POST /devices/revoke.
func (p *pages) postRevokePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, err := events.ParseID(r.PostFormValue("device"))
	if err != nil {
		return refuse(http.StatusNotFound, "There is no such device.")
	}
	if err := p.revoke(r, firm, id); err != nil {
		return err
	}
	http.Redirect(w, r, "/devices", http.StatusSeeOther)
	return nil
}

// getPairPage is GET /pair: where a phone types the code.
func (p *pages) getPairPage(w http.ResponseWriter, _ *http.Request) error {
	return show(w, http.StatusOK, web.PairPage{Frame: web.Frame{Title: "Pair this device"}})
}

// postPairPage is POST /pair. The code travels in the body, so that it reaches no
// log.
func (p *pages) postPairPage(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	_, made, err := p.pair(r, r.PostFormValue("code"), jobs.Token{Name: r.PostFormValue("device")})
	var bad *levelling.InputError
	if errors.As(err, &bad) {
		return show(w, http.StatusUnprocessableEntity, web.PairPage{
			Frame: web.Frame{Title: "Pair this device"}, Device: r.PostFormValue("device"), Wrong: web.Wrong{bad.Field: bad.Cure},
		})
	}
	if err != nil {
		return err
	}
	if err := p.signIn(w, r, jobs.Session{Firm: made.Firm, Token: made.ID}, ""); err != nil {
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}
