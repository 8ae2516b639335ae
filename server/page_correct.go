package server

import (
	"cmp"
	"errors"
	"net/http"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/server/web"
)

// proposeCorrection fills a form in with what was kept apart, where it is opened
// to correct that, and says why it did not fit.
func (p *pages) proposeCorrection(r *http.Request, v view, page *web.RecordPage) error {
	text := r.URL.Query().Get("apart")
	if text == "" {
		return nil
	}
	key, err := events.ParseDigest(text)
	if err != nil {
		return events.ErrNotFound
	}
	q, before, err := p.config.Log.FindApart(r.Context(), v.key.firm, key)
	if err != nil {
		return err
	}
	was := q.Read()
	if was.Kind == page.Form.Kind {
		page.Values = page.Form.Typed(was.Body, page.Sources)
	} else {
		page.Values.Set("text", readable(q, was))
	}
	page.Apart, page.Decision, page.Unit = text, len(before)+1, cmp.Or(page.Values.Get("unit"), page.Unit)
	if v.known(was.By) {
		page.By = was.By.String()
	}
	page.Back, page.Sources.Recorders, page.Sources.InOwnName = "/quarantine/"+text, page.Sources.People, false
	page.Warned = "It did not fit: " + q.Reason + "."
	return nil
}

func (v view) known(person events.ID) bool { return v.names[person] != "" }

// correctionOf is what a form that was sent corrects; nil for any other.
func (p *pages) correctionOf(r *http.Request, v view) (*events.Quarantined, error) {
	text := r.PostFormValue("apart")
	if text == "" {
		return nil, nil
	}
	key, err := events.ParseDigest(text)
	if err != nil {
		return nil, events.ErrNotFound
	}
	q, _, err := p.config.Log.FindApart(r.Context(), v.key.firm, key)
	return &q, err
}

// corrected notes that a draft was recorded in place of what was kept apart. The
// draft is stored by then, whatever becomes of the note.
func (p *pages) corrected(r *http.Request, v view, made *draft, q *events.Quarantined) error {
	if q == nil {
		return nil
	}
	n, _ := strconv.Atoi(r.PostFormValue("decision"))
	by, _ := recorderIn(r, cmp.Or(signedIn(r), r.PostFormValue("recorder")), v.people, decides)
	err := p.config.Log.Decide(r.Context(), events.Decision{
		Firm: v.key.firm, Key: q.Key(), N: n, What: events.Corrected, By: by, Job: v.key.job, Event: made.id, At: p.stamp(),
	})
	if !errors.Is(err, events.ErrConflict) {
		return err
	}
	saved, warned, _ := p.desk.said(v.key, made.id)
	p.desk.stored(made, saved, strings.TrimSpace(warned+" Somebody else decided meanwhile about what was kept apart: look whether it is in the book twice."))
	return nil
}
