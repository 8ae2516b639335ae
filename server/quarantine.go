package server

import (
	"net/http"
	"time"

	"relevel/events"
)

const (
	usualQuarantined = 100
	mostQuarantined  = 500
)

// keptApart is one thing in quarantine, with the bytes as they came.
type keptApart struct {
	Job       events.ID `json:"job"`
	EventID   events.ID `json:"event_id,omitzero"`
	Device    events.ID `json:"device,omitzero"`
	DeviceSeq int64     `json:"device_seq,omitempty"`
	At        time.Time `json:"at"`
	Reason    string    `json:"reason"`
	Bytes     []byte    `json:"bytes"`
}

// getQuarantine is GET quarantine?limit=, newest first.
func (s *Server) getQuarantine(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	limit, err := number(r, "limit", usualQuarantined, 1, mostQuarantined)
	if err != nil {
		return err
	}
	kept, err := s.config.Log.Quarantined(r.Context(), firm, int(limit))
	if err != nil {
		return err
	}
	list := make([]keptApart, len(kept))
	for i, q := range kept {
		list[i] = keptApart{q.Job, q.EventID, q.Device, q.DeviceSeq, q.At, q.Reason, q.Raw}
	}
	return reply(w, http.StatusOK, map[string]any{"quarantine": list})
}
