package server

import (
	"errors"
	"net/http"
	"net/url"
	"slices"

	"relevel/events"
	"relevel/server/web"
)

// getKitPage is GET /kit: the jacks and lasers, and how the firm goes about
// lifting. With ?jack= or ?laser= the form starts with what is known of that one.
func (p *pages) getKitPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	page, err := p.kitPage(r, firm)
	if err != nil {
		return err
	}
	asked := r.URL.Query().Get("jack")
	if i := slices.IndexFunc(page.Jacks, func(j web.KitJack) bool { return j.Name == asked }); i >= 0 {
		page.Typed = web.JackTyped(page.Jacks[i].Jack)
	}
	asked = r.URL.Query().Get("laser")
	if i := slices.IndexFunc(page.Lasers, func(l web.KitLaser) bool { return l.Name == asked }); i >= 0 {
		page.TypedLaser = web.LaserTyped(page.Lasers[i].Laser)
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) kitPage(r *http.Request, firm events.ID) (page web.KitPage, err error) {
	if page.Frame, err = p.firmFrame(r, firm, "Jacks, lasers and lifting"); err != nil {
		return page, err
	}
	practice, err := p.config.Store.FindPractice(r.Context(), firm)
	if err != nil {
		return page, err
	}
	now := p.nowOn(page.Frame)
	if page.Jacks, page.Lasers, err = p.kitLines(r.Context(), firm, now); err != nil {
		return page, err
	}
	page.Typed, page.TypedLaser, page.Practice = url.Values{}, url.Values{}, web.PracticeTyped(practice)
	id, err := events.NewID(now, p.config.Random)
	page.ID = id.String()
	return page, err
}

// postJackPage is POST /kit/jacks. The id was made with the form, so that a
// double press adds one.
func (p *pages) postJackPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, _ := events.ParseID(r.PostFormValue("id")) // zero: a new one
	j, wrong := web.JackOf(r.PostForm)
	return p.keptKit(w, r, firm, kitForm{at: "/kit#jacks", wrong: wrong,
		keep:  func() error { j.ID = id; _, err := p.createJack(r.Context(), firm, j); return err },
		again: func(page *web.KitPage) { page.Typed, page.WrongJack = r.PostForm, wrong },
	})
}

// postLaserPage is POST /kit/lasers.
func (p *pages) postLaserPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, _ := events.ParseID(r.PostFormValue("id"))
	l, wrong := web.LaserOf(r.PostForm)
	return p.keptKit(w, r, firm, kitForm{at: "/kit#lasers", wrong: wrong,
		keep:  func() error { l.ID = id; _, err := p.createLaser(r.Context(), firm, l); return err },
		again: func(page *web.KitPage) { page.TypedLaser, page.WrongLaser = r.PostForm, wrong },
	})
}

// postPracticePage is POST /kit/practice.
func (p *pages) postPracticePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	id, _ := events.ParseID(r.PostFormValue("id"))
	practice, wrong := web.PracticeOf(r.PostForm)
	return p.keptKit(w, r, firm, kitForm{at: "/kit#practice", wrong: wrong,
		keep:  func() error { practice.ID = id; _, err := p.createPractice(r.Context(), firm, practice); return err },
		again: func(page *web.KitPage) { page.Practice, page.WrongPractice = r.PostForm, wrong },
	})
}

// kitForm is one of the forms of the page as it was sent.
type kitForm struct {
	at    string // where it leads when it was kept
	wrong web.Wrong
	keep  func() error
	again func(*web.KitPage) // fills the page in as it was sent
}

// keptKit keeps what a form says, or shows it again with what is wrong.
func (p *pages) keptKit(w http.ResponseWriter, r *http.Request, firm events.ID, f kitForm) error {
	status := http.StatusUnprocessableEntity
	if len(f.wrong) == 0 {
		err := f.keep()
		switch {
		case err == nil:
			http.Redirect(w, r, f.at, http.StatusSeeOther)
			return nil
		case !errors.Is(err, events.ErrConflict):
			return err
		}
		// Somebody went back to a form that was sent before and changed it.
		status, f.wrong["form"] = http.StatusConflict, "this form was sent before with other figures: press again if these are meant to take their place"
	}
	page, err := p.kitPage(r, firm)
	if err != nil {
		return err
	}
	f.again(&page)
	if status == http.StatusUnprocessableEntity {
		page.ID = r.PostFormValue("id")
	}
	return show(w, status, page)
}
