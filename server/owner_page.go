package server

import (
	"cmp"
	"net/http"
	"strconv"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// showOwner shows a job to a visitor.
func (p *pages) showOwner(w http.ResponseWriter, r *http.Request, v visitor) error {
	seen, err := p.lookSeen(r, v)
	if err != nil {
		return err
	}
	changes, err := p.ownerChanges(r.Context(), v, seen)
	if err != nil {
		return err
	}
	here, err := p.photosHere(r.Context(), seen)
	if err != nil {
		return err
	}
	to := seen.toldTo(here)
	to.frame, to.proofs = seen.ownerFrame(seen.job.Name), p.takings(v)
	to.photo = func(of events.Digest, px int) string {
		return v.base() + "/photos/" + of.String() + "?size=" + strconv.Itoa(px)
	}
	var page web.OwnerPage
	var unread error
	err = p.asSeen(r.Context(), v, func(state *jobs.State, _ time.Time) {
		records, err := p.opened.upTo(r.Context(), v.key, state.Seq())
		if unread = err; err == nil {
			page = ownerPage(state, entriesOf(state, records), to)
		}
	})
	if err = cmp.Or(err, unread); err != nil {
		return err
	}
	page.Changes, page.Leave = changes, v.base()+"/leave"
	return show(w, http.StatusOK, page)
}

// lookSeen gathers what the pages of a visitor have in common, as far as they may see.
func (p *pages) lookSeen(r *http.Request, of visitor) (v view, err error) {
	ctx, store := r.Context(), p.config.Store
	v.key = of.key
	if v.job, err = store.FindJob(ctx, v.key.firm, v.key.job); err != nil {
		return v, err
	}
	if v.firm, err = store.FindFirm(ctx, v.key.firm); err != nil {
		return v, err
	}
	if v.people, err = store.ListPeople(ctx, v.key.firm); err != nil {
		return v, err
	}
	v.zone, v.names = zoneOf(v.job), namesOf(v.people)
	err = p.asSeen(ctx, of, func(state *jobs.State, now time.Time) {
		state.Speak(v.firm.Speech())
		v.now = now.In(v.zone)
		v.picture = state.Picture(v.now)
		state.Speak(jobs.Speech{})
	})
	return v, err
}

// ownerFrame is what stands around a visitor's page: nothing that leads to the firm's own.
func (v view) ownerFrame(title string) web.Frame {
	return web.Frame{Title: title, Units: v.firm.Units, Words: v.firm.Words.Words()}
}
