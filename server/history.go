package server

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

const (
	usualEvents = 100
	mostEvents  = 1000
)

// written is one event of the log as it is sent. The leaf binds the exact
// bytes; Event is the same as JSON allows it, for reading.
type written struct {
	Seq        int64           `json:"seq"`
	RecordedAt time.Time       `json:"recorded_at"`
	Leaf       events.Hash     `json:"leaf"`
	Event      json.RawMessage `json:"event,omitempty"`
	Line       jobs.Line       `json:"line"`
	Erased     bool            `json:"erased,omitempty"`
	Bytes      []byte          `json:"bytes,omitempty"` // with exact=1
	Salt       []byte          `json:"salt,omitempty"`
}

// getEvents is GET jobs/{job}/events?after=&limit=&exact=1.
func (s *Server) getEvents(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	after, err := number(r, "after", 0, 0, 1<<53)
	if err != nil {
		return err
	}
	limit, err := number(r, "limit", usualEvents, 1, mostEvents)
	if err != nil {
		return err
	}
	page, seq, err := s.book(r.Context(), key, after, int(limit))
	if err != nil {
		return err
	}
	if r.FormValue("exact") != "1" {
		for i := range page {
			page[i].Bytes, page[i].Salt = nil, nil
		}
	}
	return reply(w, http.StatusOK, map[string]any{"events": page, "seq": seq})
}

// book reads lines of the book, and the number of its last event.
func (s *Server) book(ctx context.Context, key jobKey, after int64, limit int) ([]written, int64, error) {
	if _, err := s.states.find(ctx, key); err != nil {
		return nil, 0, err
	}
	stored, err := s.config.Log.Read(ctx, key.firm, key.job, after, limit)
	if err != nil {
		return nil, 0, fmt.Errorf("read the book: %w", err)
	}
	page := make([]written, len(stored))
	seq := int64(0)
	// The state is read after the events and so knows all of them.
	err = s.states.use(ctx, key, func(state *jobs.State) {
		seq = state.Seq()
		for i, e := range stored {
			page[i] = written{
				Seq: e.Seq, RecordedAt: e.RecordedAt, Leaf: e.Leaf, Event: e.Raw,
				Line: state.Line(e), Erased: e.Erased, Bytes: e.Raw, Salt: e.Salt,
			}
		}
	})
	return page, seq, err
}

// getState is GET jobs/{job}/state?as_of=SEQ.
func (s *Server) getState(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	if !r.URL.Query().Has("as_of") {
		p, err := s.states.picture(r.Context(), key, s.config.Now())
		if err != nil {
			return err
		}
		return reply(w, http.StatusOK, p)
	}
	asOf, err := number(r, "as_of", 0, 0, 1<<53)
	if err != nil {
		return err
	}
	p, err := s.pictureAsOf(r.Context(), key, asOf, jobs.Speech{})
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, p)
}

// pictureAsOf returns what was known when the log had seq events, with the
// clock of that moment and phrases in some words.
func (s *Server) pictureAsOf(ctx context.Context, key jobKey, seq int64, in jobs.Speech) (p jobs.Picture, err error) {
	err = s.stateAsOf(ctx, key, seq, func(state *jobs.State, now time.Time) {
		state.Speak(in)
		p = state.Picture(now)
	})
	return p, err
}

// stateAsOf calls f with the state when the log had seq events, and the time of the
// last of them. It folds anew each time, so few may do so at once.
func (s *Server) stateAsOf(ctx context.Context, key jobKey, seq int64, f func(state *jobs.State, now time.Time)) error {
	if _, err := s.states.find(ctx, key); err != nil {
		return err
	}
	head, err := s.config.Log.Head(ctx, key.firm, key.job)
	if err != nil {
		return err
	}
	if seq > head.Seq {
		return levelling.Bad("as_of", fmt.Sprintf("at most %d, the last event of the job", head.Seq))
	}
	select {
	case s.refolds <- struct{}{}:
		defer func() { <-s.refolds }()
	case <-ctx.Done():
		return ctx.Err()
	}
	then, err := readAll(ctx, s.config.Log, key, seq)
	if err != nil {
		return err
	}
	now := s.config.Now()
	if len(then) > 0 {
		now = then[len(then)-1].RecordedAt
	}
	f(jobs.Refold(key.job, then), now)
	return nil
}

// number reads a whole number from the query.
func number(r *http.Request, field string, missing, low, high int64) (int64, error) {
	text := r.URL.Query().Get(field)
	if text == "" && !r.URL.Query().Has(field) {
		return missing, nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < low || n > high {
		return 0, levelling.Bad(field, fmt.Sprintf("a whole number from %d to %d", low, high))
	}
	return n, nil
}
