package server

import (
	"errors"
	"net/http"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/watch"
	"relevel/server/web"
)

// ownerRoutes add what is seen by an owner's link. None of it asks who is signed in: a
// visit opens the one job of its share, and nothing else does.
func (p *pages) ownerRoutes(r *mux.Router) {
	at := func(path string, f func(http.ResponseWriter, *http.Request) error, methods ...string) {
		r.Handle(sharePath+"{share}"+path, unlisted(p.answer(f))).Methods(methods...)
	}
	at("", p.getOwnerPage, http.MethodGet, http.MethodHead)
	at("", p.postOwnerPage, http.MethodPost)
	at("/leave", p.postOwnerLeaves, http.MethodPost)
	at("/photos/{sha256}", p.forVisitor(p.getOwnerPhoto), http.MethodGet, http.MethodHead)
	at("/changes/{change}", p.forVisitor(p.getOwnerChange), http.MethodGet, http.MethodHead)
	at("/changes/{change}", p.forVisitor(p.postOwnerChange), http.MethodPost)
	p.ownerTakes(at)
}

// unlisted asks search engines to keep nothing of an answer.
func unlisted(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("X-Robots-Tag", "noindex, nofollow, noarchive, nosnippet")
		next.ServeHTTP(w, r)
	})
}

// visitor is who sees a job by an owner's link.
type visitor struct {
	share jobs.Share
	key   jobKey
}

// base is the address of the visitor's page.
func (v visitor) base() string { return sharePath + v.share.Address() }

var (
	errNoVisit   = errors.New("no visit to this share")
	errShareOver = errors.New("the share is over")
)

// visitorOf finds out by which share somebody comes, each time: one that is revoked is
// over at once. Who has a visit may know that its share is over; anybody else is told
// nothing.
func (p *pages) visitorOf(r *http.Request) (v visitor, err error) {
	firm, id, err := jobs.ParseShareAddress(mux.Vars(r)["share"])
	cookie, none := r.Cookie(visitName(r))
	if err != nil || none != nil {
		return v, errNoVisit
	}
	now := p.stamp()
	share, err := p.config.Store.FindVisit(r.Context(), firm, id, jobs.ParseShareVisit(cookie.Value), now)
	switch {
	case isNotFound(err):
		return v, errNoVisit
	case err != nil:
		return v, err
	case !share.OpenAt(now):
		return visitor{share: share}, errShareOver
	}
	about := watch.Of(r.Context())
	about.Set(watch.Firm, share.Firm.String())
	about.Set(watch.Job, share.Job.String())
	return visitor{share, jobKey{share.Firm, share.Job}}, nil
}

// forVisitor makes a handler of a function that works for who sees a job by its link.
// Others are led to where the link is opened; a program that asks for a picture finds
// none.
func (p *pages) forVisitor(f func(http.ResponseWriter, *http.Request, visitor) error) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		v, err := p.visitorOf(r)
		switch {
		case (errors.Is(err, errNoVisit) || errors.Is(err, errShareOver)) && mux.Vars(r)["sha256"] != "":
			return events.ErrNotFound
		case errors.Is(err, errNoVisit), errors.Is(err, errShareOver):
			http.Redirect(w, r, sharePath+pathEscape(mux.Vars(r)["share"]), http.StatusSeeOther)
			return nil
		case err != nil:
			return err
		}
		return f(w, r, v)
	}
}

// visitName is the cookie of a visit. __Host- is for cookies of the whole host, which
// this is not to be.
func visitName(r *http.Request) string {
	if isHTTPS(r) {
		return "__Secure-relevel-owner"
	}
	return "relevel-owner"
}

// visitCookie is sent to the addresses of one share and to no other.
func visitCookie(r *http.Request, value string, lasts time.Duration) *http.Cookie {
	return &http.Cookie{
		Name: visitName(r), Value: value, Path: sharePath + mux.Vars(r)["share"], MaxAge: int(lasts / time.Second),
		HttpOnly: true, Secure: isHTTPS(r), SameSite: http.SameSiteLaxMode,
	}
}

// getOwnerPage is GET /s/{share}. Whoever has no visit, a program that makes previews of
// links among them, gets a form that is the same for every address; it asks the store
// nothing, so that neither its words nor its time tell whether there is such a share.
func (p *pages) getOwnerPage(w http.ResponseWriter, r *http.Request) error {
	v, err := p.visitorOf(r)
	switch {
	case errors.Is(err, errNoVisit):
		return show(w, http.StatusOK, web.OpenSharePage{Frame: web.Frame{Title: "A page for its owner"}, Wrong: web.Wrong{}})
	case errors.Is(err, errShareOver):
		return p.showOver(w, r, v.share)
	case err != nil:
		return err
	}
	return p.showOwner(w, r, v)
}

// nothingOpened is one answer to a secret that is wrong and to a share that is none.
const nothingOpened = "it opens nothing here: look whether all of it is there"

// postOwnerPage is POST /s/{share}: the secret, from behind the # or as it was typed, for
// a visit. Whether there is such a share, neither the answer nor its time tells to who
// has not its secret: what is no address is looked for in a firm that is none.
func (p *pages) postOwnerPage(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if err := p.doors.shares.enter(r.Context(), p.senderNetwork(r)); err != nil {
		return err
	}
	firm, id, err := jobs.ParseShareAddress(mux.Vars(r)["share"])
	if err != nil || firm.IsZero() {
		firm, id = p.nowhere, events.ID{}
	}
	text, hash, err := jobs.NewShareVisit(p.config.Random)
	if err != nil {
		return err
	}
	now := p.stamp()
	visit := jobs.ShareVisit{Hash: hash, Began: now, ExpiresAt: now.Add(jobs.VisitLasts)}
	share, err := p.config.Store.OpenShare(r.Context(), firm, id, jobs.ParseShareSecret(r.PostFormValue("code")), visit)
	switch {
	case isNotFound(err):
		return show(w, http.StatusUnprocessableEntity, web.OpenSharePage{
			Frame: web.Frame{Title: "A page for its owner"}, Code: r.PostFormValue("code"), Wrong: web.Wrong{"code": nothingOpened},
		})
	case err != nil:
		return err
	case !share.OpenAt(now):
		return p.showOver(w, r, share)
	}
	http.SetCookie(w, visitCookie(r, text, jobs.VisitLasts))
	p.trail.note(share.Firm, r, jobs.Trace{What: jobs.ShareOpened, Token: share.ID, Job: share.Job})
	http.Redirect(w, r, sharePath+share.Address(), http.StatusSeeOther)
	return nil
}

// showOver tells who has the secret why it opens no longer, and whom to ask.
func (p *pages) showOver(w http.ResponseWriter, r *http.Request, share jobs.Share) error {
	firm, err := p.config.Store.FindFirm(r.Context(), share.Firm)
	if err != nil {
		return err
	}
	page := web.ShareOverPage{Frame: web.Frame{Title: "This link is over"}, Of: firm.Name, Revoked: !share.RevokedAt.IsZero()}
	return show(w, http.StatusGone, page)
}

// postOwnerLeaves is POST /s/{share}/leave: the visit is over, the link is not.
func (p *pages) postOwnerLeaves(w http.ResponseWriter, r *http.Request) error {
	firm, id, err := jobs.ParseShareAddress(mux.Vars(r)["share"])
	if cookie, none := r.Cookie(visitName(r)); err == nil && none == nil {
		if err := p.config.Store.EndVisit(r.Context(), firm, id, jobs.ParseShareVisit(cookie.Value)); err != nil {
			return err
		}
	}
	http.SetCookie(w, visitCookie(r, "", -time.Second))
	forgetPictures(w)
	http.Redirect(w, r, sharePath+pathEscape(mux.Vars(r)["share"]), http.StatusSeeOther)
	return nil
}
