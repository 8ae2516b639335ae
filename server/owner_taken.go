package server

import (
	"context"
	"net/http"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs/bundle"
	"relevel/server/pack"
	"relevel/server/web"
)

// What an owner takes away: the account on paper, the record as a file that anybody
// checks, and the seal as text. All of it ends where the share ends.

// ownerTakes add it to what is behind an owner's link.
func (p *pages) ownerTakes(at func(path string, f func(http.ResponseWriter, *http.Request) error, methods ...string)) {
	at("/pack", p.forVisitor(p.getOwnerPacks), http.MethodGet, http.MethodHead)
	at("/pack", p.forVisitor(p.postOwnerPack), http.MethodPost)
	at("/packs/{pack}", p.forVisitor(p.getOwnerPack), http.MethodGet, http.MethodHead)
	at("/bundle.zip", p.forVisitor(p.getOwnerBundle), http.MethodGet)
	at("/checkpoint", p.forVisitor(p.getOwnerCheckpoint), http.MethodGet, http.MethodHead)
}

// takings lead a visitor to what there is to take away and to check.
func (p *pages) takings(v visitor) []web.Action {
	all := []web.Action{
		{Verb: "This account on paper", Href: v.base() + "/pack"},
		{Verb: "The record as one file", Href: v.base() + "/bundle.zip"},
		{Verb: "Check such a file", Href: "/verify"},
	}
	if p.signs != nil {
		all = append(all, web.Action{Verb: "The seal as text", Href: v.base() + "/checkpoint"})
	}
	return all
}

// upTo is the last record that a visitor sees.
func (v visitor) upTo() int64 {
	if v.share.UpTo > 0 {
		return v.share.UpTo
	}
	return wholeRecord
}

// getOwnerPacks is GET /s/{share}/pack: the packs of what the visitor sees.
func (p *pages) getOwnerPacks(w http.ResponseWriter, r *http.Request, v visitor) error {
	page, err := p.ownerPacks(r, v)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) ownerPacks(r *http.Request, v visitor) (page web.PackPage, err error) {
	seen, err := p.lookSeen(r, v)
	if err != nil {
		return page, err
	}
	page = web.PackPage{Frame: seen.ownerFrame("On paper, " + seen.job.Name), Back: v.base()}
	for _, one := range pack.Papers(seen.firm.Words) {
		page.Papers = append(page.Papers, string(one))
	}
	all, err := p.config.Store.ListPacks(r.Context(), v.key.firm, v.key.job)
	for _, one := range all {
		if one.UpTo > v.upTo() {
			continue
		}
		line := seen.packLine(one)
		if one.Ready() {
			line.Href = v.base() + "/packs/" + one.ID.String()
		}
		page.Packs, page.Waits = append(page.Packs, line), page.Waits || one.Waits()
	}
	return page, err
}

// postOwnerPack is POST /s/{share}/pack: asks for a pack of what the visitor sees.
func (p *pages) postOwnerPack(w http.ResponseWriter, r *http.Request, v visitor) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	paper := pack.Paper(r.PostFormValue("paper"))
	if !paper.Known() {
		page, err := p.ownerPacks(r, v)
		if err != nil {
			return err
		}
		page.Wrong = web.Wrong{"paper": "A4 or Letter"}
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if err := p.doors.takings.enter(r.Context(), v.share.ID.String()); err != nil {
		return err
	}
	if _, err := p.packs.ask(r.Context(), v.key, paper, v.upTo()); err != nil {
		return err
	}
	http.Redirect(w, r, v.base()+"/pack", http.StatusSeeOther)
	return nil
}

// getOwnerPack is GET /s/{share}/packs/{pack}: one that tells no more than is seen.
func (p *pages) getOwnerPack(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := events.ParseID(mux.Vars(r)["pack"])
	if err != nil {
		return events.ErrNotFound
	}
	found, err := p.config.Store.FindPack(r.Context(), v.key.firm, id)
	if err != nil {
		return err
	}
	if found.UpTo > v.upTo() {
		return events.ErrNotFound
	}
	return p.sendPack(w, r, v.key, id)
}

// getOwnerBundle is GET /s/{share}/bundle.zip: every record as it was sent, with photos
// made smaller, which hold nothing but what they show.
func (p *pages) getOwnerBundle(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := p.doors.takings.enter(r.Context(), v.share.ID.String()); err != nil {
		return err
	}
	return p.sendBundle(w, r, bundle.Order{Firm: v.key.firm, Job: v.key.job, Upto: v.share.UpTo, Photos: bundle.Smaller})
}

// getOwnerCheckpoint is GET /s/{share}/checkpoint: the seal over what the visitor sees,
// to be kept where this server cannot reach it. Where nothing was signed just there, it
// is a later one, which says no more of what came since than how much it is.
func (p *pages) getOwnerCheckpoint(w http.ResponseWriter, r *http.Request, v visitor) error {
	seal, err := p.ownerSeal(r.Context(), v)
	if err != nil {
		return err
	}
	if seal.Text == "" {
		return errNotSigned
	}
	return sendText(w, []byte(seal.Text))
}

func (p *pages) ownerSeal(ctx context.Context, v visitor) (pack.Checkpoint, error) {
	upTo := v.share.UpTo
	if upTo == 0 {
		head, err := p.config.Log.Head(ctx, v.key.firm, v.key.job)
		if err != nil {
			return pack.Checkpoint{}, err
		}
		upTo = head.Seq
	}
	return p.sealOf(ctx, v.key, upTo)
}
