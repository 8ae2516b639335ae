package server

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"strconv"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// A void cannot be voided. What was struck by mistake is recorded again, as it
// is now: the form starts with the words of the struck line.

// again is where a struck line is recorded again, "" where no form records it.
func (v view) again(l jobs.Line) string {
	if _, ok := web.FormOf(l.Kind); !ok {
		return ""
	}
	q := url.Values{"again": {strconv.FormatInt(l.Seq, 10)}, "back": {v.bookLine(l.Seq)}}
	if len(l.Points) > 0 {
		if _, known := v.picture.Support(l.Points[0]); known {
			q.Set("support", l.Points[0])
		}
	}
	return v.base() + "/record/" + string(l.Kind) + "?" + q.Encode()
}

// proposeAgain fills a form with what a struck line said.
func (p *pages) proposeAgain(r *http.Request, v view, page *web.RecordPage) error {
	seq, asked := place(r, "again")
	if !asked || seq < 1 {
		return nil
	}
	stored, err := p.config.Log.Read(r.Context(), v.key.firm, v.key.job, seq-1, 1)
	if err != nil {
		return fmt.Errorf("read the book: %w", err)
	}
	if len(stored) == 0 || stored[0].Kind != page.Form.Kind || stored[0].Erased || page.Form.Kind == events.KindVoid {
		return nil
	}
	struck := false
	err = p.states.use(r.Context(), v.key, func(state *jobs.State) { struck = state.Line(stored[0]).Voided != "" })
	if struck {
		maps.Copy(page.Values, page.Form.Again(stored[0].Body))
	}
	return err
}
