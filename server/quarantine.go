package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/levelling"
)

const (
	usualQuarantined = 100
	mostQuarantined  = 500
)

// keptApart is one thing in quarantine, with the bytes as they came.
type keptApart struct {
	Key       events.Digest    `json:"key"`
	Job       events.ID        `json:"job"`
	EventID   events.ID        `json:"event_id,omitzero"`
	Device    events.ID        `json:"device,omitzero"`
	DeviceSeq int64            `json:"device_seq,omitempty"`
	At        time.Time        `json:"at"`
	Reason    string           `json:"reason"`
	Bytes     []byte           `json:"bytes"`
	Decision  *events.Decision `json:"decision,omitempty"` // the last one
}

func keptApartOf(c events.Case) keptApart {
	q := c.Quarantined
	kept := keptApart{q.Key(), q.Job, q.EventID, q.Device, q.DeviceSeq, q.At, q.Reason, q.Raw, nil}
	if c.Last.N > 0 {
		kept.Decision = &c.Last
	}
	return kept
}

// getQuarantine is GET quarantine?settled=&limit=, newest first: what waits for
// somebody to decide, or with settled=1 what was decided about.
func (s *Server) getQuarantine(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	limit, err := number(r, "limit", usualQuarantined, 1, mostQuarantined)
	if err != nil {
		return err
	}
	settled, err := number(r, "settled", 0, 0, 1)
	if err != nil {
		return err
	}
	cases, err := s.config.Log.Apart(r.Context(), firm, settled == 1, int(limit))
	if err != nil {
		return err
	}
	list := make([]keptApart, len(cases))
	for i, c := range cases {
		list[i] = keptApartOf(c)
	}
	return reply(w, http.StatusOK, map[string]any{"quarantine": list})
}

// apartKey reads which thing in quarantine an address names. What is no digest
// names nothing.
func apartKey(r *http.Request) (events.Digest, error) {
	key, err := events.ParseDigest(mux.Vars(r)["key"])
	if err != nil {
		return key, events.ErrNotFound
	}
	return key, nil
}

// postDecision is POST quarantine/{key}/decisions: what is to become of a thing.
// n is one more than the number of decisions before; it may be left out.
func (s *Server) postDecision(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := apartKey(r)
	if err != nil {
		return err
	}
	var d events.Decision
	if err := decode(w, r, &d); err != nil {
		return err
	}
	d.Firm, d.Key, d.At = firm, key, s.stamp()
	made, err := s.decide(r.Context(), d)
	if err != nil {
		return err
	}
	return reply(w, http.StatusCreated, made)
}

// decide carries out what somebody decided and writes it down. A thing that is
// accepted is recorded first: what breaks off between the two is done again, and
// makes the same event.
func (s *Server) decide(ctx context.Context, d events.Decision) (events.Decision, error) {
	q, before, err := s.config.Log.FindApart(ctx, d.Firm, d.Key)
	if err != nil {
		return d, err
	}
	if d.N == 0 {
		d.N = len(before) + 1
	}
	if d.N != len(before)+1 { // said before, or too late: the log knows
		if d.What == events.Accepted {
			d.Event = q.Again(d.Job, d.N).ID
		}
		return d, s.config.Log.Decide(ctx, d)
	}
	if err := fits(d, before); err != nil {
		return d, err
	}
	switch d.What {
	case events.Accepted:
		if d.Event, err = s.takeIn(ctx, q, d); err != nil {
			return d, err
		}
	case events.Corrected:
		return d, levelling.Bad("what", "accepted, set-aside or reopened; what is corrected is recorded anew")
	default:
		d.Job, d.Event = events.ID{}, events.ID{}
	}
	return d, s.config.Log.Decide(ctx, d)
}

// fits holds a decision against those before it: what is settled is reopened
// before anything else becomes of it. One that is there already is said again.
func fits(d events.Decision, before []events.Decision) error {
	if d.N != len(before)+1 {
		return nil // said before, or too late: the log knows
	}
	settled := len(before) > 0 && before[len(before)-1].Settled()
	switch {
	case settled && d.What != events.Reopened:
		return levelling.Bad("what", "reopened: it was decided about before")
	case !settled && d.What == events.Reopened:
		return levelling.Bad("what", "accepted or set-aside: nothing was decided about it yet")
	}
	return nil
}

// takeIn records a thing from the quarantine in the job that was chosen for it.
func (s *Server) takeIn(ctx context.Context, q events.Quarantined, d events.Decision) (events.ID, error) {
	if err := q.Acceptable(); err != nil {
		return events.ID{}, err
	}
	if _, err := s.config.Store.FindJob(ctx, d.Firm, d.Job); errors.Is(err, events.ErrNotFound) {
		return events.ID{}, levelling.Bad("job", whichJob)
	} else if err != nil {
		return events.ID{}, err
	}
	again := q.Again(d.Job, d.N)
	if again.By.IsZero() {
		again.By = d.By
	}
	raw, err := json.Marshal(again)
	if err != nil {
		return events.ID{}, fmt.Errorf("take in what was kept apart: %w", err)
	}
	answer, err := s.record(ctx, jobKey{d.Firm, d.Job}, []json.RawMessage{raw})
	if err != nil {
		return events.ID{}, err
	}
	if reason := answer.Results[0].Reason; reason != "" {
		return events.ID{}, refuse(http.StatusConflict, "It could not be recorded: "+reason)
	}
	return again.ID, nil
}
