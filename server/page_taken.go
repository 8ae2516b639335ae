package server

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"time"

	"relevel/events"
)

// take makes the events of a form. One that was stored before, by another server or by
// this one before it was started anew, is not made again: its first event's id was made
// when the form was shown, so it is among what was recorded since.
func (p *pages) take(ctx context.Context, e entry) (*draft, error) {
	if p.desk.knows(e) {
		return p.desk.take(e)
	}
	was, err := p.recordedSince(ctx, e)
	switch {
	case err != nil:
		return nil, err
	case was == nil:
		return p.desk.take(e)
	case e.isIn(*was):
		return p.desk.takeStored(e)
	}
	if e.id, err = p.desk.newID(); err != nil { // it comes back changed
		return nil, err
	}
	return p.desk.take(e)
}

// recordedSince finds the first event of a form in the log, nil if it is not there.
func (p *pages) recordedSince(ctx context.Context, e entry) (*events.Stored, error) {
	for after := e.seen; ; {
		more, err := p.config.Log.Read(ctx, e.key.firm, e.key.job, after, readPage)
		if errors.Is(err, events.ErrNotFound) {
			return nil, nil // the job's log is made with its first record
		}
		if err != nil {
			return nil, err
		}
		for i := range more {
			if more[i].ID == e.id {
				return &more[i], nil
			}
		}
		if len(more) < readPage {
			return nil, nil
		}
		after = more[len(more)-1].Seq
	}
}

// isIn reports whether an event is the first of what a form was filled in with.
func (e entry) isIn(was events.Stored) bool {
	var body, kept bytes.Buffer
	if len(e.bodies) == 0 || json.Compact(&body, e.bodies[0]) != nil || json.Compact(&kept, was.Body) != nil {
		return false
	}
	sameFiles := slices.EqualFunc(was.Files, e.files, func(a, b events.File) bool { return a.SHA256 == b.SHA256 })
	return was.Kind == e.kind && was.By == e.by && sameFiles && bytes.Equal(body.Bytes(), kept.Bytes())
}

// What is said of a form that was saved goes with the browser to the page that shows it,
// which another server may send.
const (
	saidLasts = time.Minute
	mostSaid  = 3000 // bytes of a cookie's value; browsers keep 4096 of all of it
)

func saidName(r *http.Request) string { return hostCookie(r, "relevel-said") }

// saidOf is what is said of one form.
type saidOf struct {
	ID            events.ID
	Saved, Warned string
}

// carry gives the browser what is to be said of a form.
func (p *pages) carry(w http.ResponseWriter, r *http.Request, made *draft) {
	saved, warned, _ := p.desk.said(made.key, made.id)
	text, err := json.Marshal(saidOf{made.id, saved, warned})
	value := base64.RawURLEncoding.EncodeToString(text)
	if err == nil && len(value) <= mostSaid {
		http.SetCookie(w, safeCookie(r, saidName(r), value, saidLasts))
	}
}

// said is what to say of a form, as this server knows it or the browser brings it.
func (p *pages) said(r *http.Request, key jobKey, id events.ID) (saved, warned string) {
	saved, warned, sure := p.desk.said(key, id)
	cookie, err := r.Cookie(saidName(r))
	if sure || err != nil {
		return saved, warned
	}
	var c saidOf
	text, err := base64.RawURLEncoding.DecodeString(cookie.Value)
	if err != nil || json.Unmarshal(text, &c) != nil || c.ID != id {
		return saved, warned
	}
	return c.Saved, c.Warned
}
