package server

import (
	"errors"
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// getPeoplePage is GET /people.
func (p *pages) getPeoplePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.peoplePage(r, firm)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) peoplePage(r *http.Request, firm events.ID) (page web.PeoplePage, err error) {
	if page.Frame, err = p.firmFrame(r, firm, "People"); err != nil {
		return page, err
	}
	id, err := events.NewID(p.config.Now(), p.config.Random)
	if err != nil {
		return page, err
	}
	page.ID = id.String()
	people, err := p.config.Store.ListPeople(r.Context(), firm)
	if err != nil {
		return page, err
	}
	accounts, err := p.config.Store.ListAccounts(r.Context(), firm)
	has := map[events.ID]bool{}
	for _, a := range accounts {
		has[a.Person] = true
	}
	for _, one := range people {
		page.People = append(page.People, web.PersonLine{Person: one, SignsIn: has[one.ID]})
	}
	return page, err
}

// postPeoplePage is POST /people.
func (p *pages) postPeoplePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, _ := events.ParseID(r.PostFormValue("id"))
	one := jobs.Person{Firm: firm, ID: id, Name: r.PostFormValue("name"), Role: jobs.Role(r.PostFormValue("role")), CreatedAt: p.stamp()}
	if err := p.nameIt(&one.ID); err != nil {
		return err
	}
	if err := one.Check(); err != nil {
		var bad *levelling.InputError
		errors.As(err, &bad)
		page, err := p.peoplePage(r, firm)
		if err != nil {
			return err
		}
		page.ID, page.Name, page.Role, page.Wrong = r.PostFormValue("id"), one.Name, one.Role, web.Wrong{bad.Field: bad.Cure}
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if err := p.config.Store.CreatePerson(r.Context(), one); err != nil {
		return err
	}
	p.trail.note(firm, r, jobs.Trace{What: jobs.PersonAdded, About: one.ID, Detail: string(one.Role)})
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}
