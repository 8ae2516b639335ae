package server

import (
	"errors"
	"net/http"
	"net/url"

	"relevel/events"
	"relevel/levelling"
	"relevel/server/web"
)

// getProfilesPage is GET /profiles.
func (p *pages) getProfilesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.profilesPage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) profilesPage(r *http.Request, firm events.ID) (page web.ProfilesPage, err error) {
	if page.Frame, err = p.firmFrame(r, firm, "Level enough"); err != nil {
		return page, err
	}
	own, err := p.firmProfiles(r.Context(), firm)
	if err != nil {
		return page, err
	}
	for _, one := range own {
		page.Own = append(page.Own, asksOf(one.Levelling()))
	}
	for _, one := range levelling.Profiles() {
		page.Published = append(page.Published, asksOf(one))
	}
	id, err := events.NewID(p.config.Now(), p.config.Random)
	page.ID, page.Typed = id.String(), url.Values{}
	return page, err
}

// asksOf is what a profile asks, in words.
func asksOf(p levelling.Profile) web.ProfileAsks {
	return web.ProfileAsks{Name: p.Name, Title: p.Title, Source: p.Cite(), Rules: rulesInWords(p)}
}

// postProfilesPage is POST /profiles. The profile's id was made with the form,
// so that a double press adds one profile.
func (p *pages) postProfilesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, _ := events.ParseID(r.PostFormValue("id")) // zero: a new one
	one, wrong := web.ProfileOf(r.PostForm)
	one.ID = id
	status := http.StatusUnprocessableEntity
	if len(wrong) == 0 {
		_, err := p.createProfile(r.Context(), firm, one)
		switch {
		case err == nil:
			http.Redirect(w, r, "/profiles", http.StatusSeeOther)
			return nil
		case !errors.Is(err, events.ErrConflict):
			return err
		}
		// Somebody went back to a form that was sent before and changed it.
		status, wrong["form"] = http.StatusConflict, "this form was sent before with other figures: add it again if these are meant to take their place"
	}
	page, err := p.profilesPage(r, firm)
	if err != nil {
		return err
	}
	page.Typed, page.Wrong = r.PostForm, wrong
	if status == http.StatusUnprocessableEntity {
		page.ID = r.PostFormValue("id")
	}
	return show(w, status, page)
}
