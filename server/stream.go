package server

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"relevel/events"
)

const (
	heartbeat     = 15 * time.Second // under the patience of proxies
	streamWrite   = 10 * time.Second // then the listener is gone
	streamAttempt = "retry: 2000\n\n"
)

// streamJob is GET jobs/{job}/live.
func (s *Server) streamJob(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	if _, err := s.states.find(r.Context(), key); err != nil {
		return err
	}
	return s.stream(w, r, key)
}

// streamFirm is GET live.
func (s *Server) streamFirm(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	return s.stream(w, r, jobKey{firm: firm})
}

// stream sends a job's head, or those of all jobs of a firm, at once and after
// every change, for as long as somebody listens. A listener that comes back
// with the number it has seen is told only of what came since.
func (s *Server) stream(w http.ResponseWriter, r *http.Request, key jobKey) error {
	l, err := s.hub.join(key)
	if err != nil {
		return err
	}
	defer s.hub.leave(l)
	if err := s.hub.begin(r.Context(), l, lastSeen(r)); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("X-Accel-Buffering", "no")
	s.feed(w, r, l)
	return nil
}

// lastSeen is what a listener that comes back has seen of a job, -1 for one that is new.
func lastSeen(r *http.Request) int64 {
	seen, err := strconv.ParseInt(r.Header.Get("Last-Event-ID"), 10, 64)
	if err != nil {
		return -1
	}
	return seen
}

// feed writes until the listener leaves, the server closes, or the token is no
// longer valid.
func (s *Server) feed(w http.ResponseWriter, r *http.Request, l *listener) {
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	text, leaving := streamAttempt, s.leaving.begun
	var turn <-chan time.Time
	for {
		if text != "" && !send(w, text) {
			return
		}
		select {
		case <-l.wake:
			text = headLines(l)
		case <-beat.C:
			if _, err := s.whoAsks(r); errors.Is(err, errUnauthorized) {
				return
			}
			text = ": still here\n\n"
		case <-r.Context().Done():
			return
		case <-leaving:
			text, leaving, turn = "", nil, time.After(s.leaving.turn(time.Now()))
		case <-turn:
			send(w, comeAgain())
			return
		case <-s.closing.Done():
			send(w, comeAgain())
			return
		}
	}
}

// headLines writes what a listener is to be told, which at first is every job of a
// firm. The event's number is that of the log, so that a listener that comes back can
// name it; in a stream of many jobs one number would not do. Jobs come in the order in
// which they were begun.
func headLines(l *listener) string {
	var text strings.Builder
	news, changed := l.take()
	for _, job := range changed {
		fmt.Fprintf(&text, "event: job\ndata: {\"job\":%q}\n\n", job.String())
	}
	for _, job := range slices.SortedFunc(maps.Keys(news), byID) {
		seq := news[job]
		text.WriteString("event: head\n")
		if !l.key.job.IsZero() {
			fmt.Fprintf(&text, "id: %d\n", seq)
		}
		fmt.Fprintf(&text, "data: {\"job\":%q,\"seq\":%d}\n\n", job.String(), seq)
	}
	return text.String()
}

func byID(a, b events.ID) int { return bytes.Compare(a[:], b[:]) }

func send(w http.ResponseWriter, text string) bool {
	control := http.NewResponseController(w)
	_ = control.SetReadDeadline(time.Time{})
	_ = control.SetWriteDeadline(time.Now().Add(streamWrite))
	if _, err := w.Write([]byte(text)); err != nil {
		return false
	}
	return control.Flush() == nil
}
