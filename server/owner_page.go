package server

import (
	"net/http"
	"time"

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
	page := web.OwnerPage{Frame: seen.ownerFrame(seen.job.Name), Of: seen.firm.Name, Job: seen.job, Picture: seen.picture, Changes: changes, Leave: v.base() + "/leave"}
	if seen.picture.Seq > 0 {
		page.AsOf = seen.now.Format(web.LongDay)
	}
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
	v.zone = zoneOf(v.job)
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
