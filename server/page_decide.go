package server

import (
	"fmt"
	"net/http"

	"relevel/events"
	"relevel/server/web"
)

// mostBetween is how many lines a form shows of what came between.
const mostBetween = 50

// decideAgain shows a form whose decision did not stand, since more was recorded
// while it was open: what that was, and what was filled in. Sent again it is
// another decision, on the job as the page shows it.
func (p *pages) decideAgain(w http.ResponseWriter, r *http.Request, page web.RecordPage, seen int64) error {
	v, err := p.look(r, page.Job.Firm)
	if err != nil {
		return err
	}
	id, err := p.desk.newID()
	if err != nil {
		return err
	}
	after := max(seen, v.picture.Seq-mostBetween)
	stored, err := p.config.Log.Read(r.Context(), v.key.firm, v.key.job, after, mostBetween)
	if err != nil {
		return fmt.Errorf("read what came between: %w", err)
	}
	if page, err = p.recordPage(r, v, page.Form, page.Sources.Support); err != nil {
		return err
	}
	if page.Between, err = p.bookOf(r.Context(), v, stored); err != nil {
		return err
	}
	p.refill(r, v, &page)
	page.FormID = id.String()
	return show(w, http.StatusConflict, page)
}

// decided are the kinds that the desk decides: they stand only on the job as
// whoever decides has seen it.
var decided = map[events.Kind]bool{events.KindAim: true}
