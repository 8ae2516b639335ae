package server

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"os"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// typeUnknown is the problem after which nobody knows whether what was sent was stored:
// sent again with the same ids it is found, or stored.
const typeUnknown = "urn:relevel:problem:outcome-unknown"

// Problem is what went wrong, as RFC 9457 writes it down. Type is about:blank,
// where the status says what sort of problem it is, or that of an unknown outcome;
// Detail and Field say what to do about it.
type Problem struct {
	Type      string `json:"type"`
	Title     string `json:"title"`
	Status    int    `json:"status"`
	Detail    string `json:"detail,omitempty"`
	Field     string `json:"field,omitempty"` // which part of what was sent
	RequestID string `json:"request_id,omitempty"`
}

// refusal is an error that has its status and its words for people already.
type refusal struct {
	status int
	detail string
}

func (e *refusal) Error() string { return e.detail }

func refuse(status int, detail string) error { return &refusal{status, detail} }

var errUnauthorized = refuse(http.StatusUnauthorized, "Send a valid token: Authorization: Bearer rl_….")

// statusClientGone is what the log shows when nobody waits for the answer.
const statusClientGone = 499

// problemOf finds the words for an error. Whatever it does not know is
// internal: the log has the error, the sender has the request id.
func problemOf(err error) Problem {
	var bad *levelling.InputError
	var no *refusal
	var long *http.MaxBytesError
	switch {
	case errors.As(err, &bad):
		return Problem{Status: http.StatusUnprocessableEntity, Detail: bad.Error(), Field: bad.Field}
	case errors.As(err, &no):
		return Problem{Status: no.status, Detail: no.detail}
	case errors.Is(err, events.ErrNotFound):
		return Problem{Status: http.StatusNotFound, Detail: "There is nothing of that name here."}
	case errors.Is(err, events.ErrTooLarge), errors.As(err, &long):
		return Problem{Status: http.StatusRequestEntityTooLarge,
			Detail: "Too large: 500 events or 1 MiB in one batch, 16 MiB a photo, 1 MiB a sound."}
	case errors.Is(err, events.ErrConflict):
		return Problem{Status: http.StatusConflict, Detail: "It exists already and differs."}
	case errors.Is(err, events.ErrUnknown):
		return Problem{Type: typeUnknown, Title: "Outcome unknown", Status: http.StatusServiceUnavailable,
			Detail: "Whether it was stored is not known: the store went away meanwhile. Nothing was acknowledged; send it again as it is, with the same ids, and what is there already is found."}
	case errors.Is(err, events.ErrUnavailable), errors.Is(err, context.DeadlineExceeded):
		return Problem{Status: http.StatusServiceUnavailable,
			Detail: "The store does not answer now. Nothing was acknowledged; keep what you have and send it again."}
	case errors.Is(err, os.ErrDeadlineExceeded):
		return Problem{Status: http.StatusRequestTimeout, Detail: "It took too long to arrive: send it again."}
	case errors.Is(err, io.ErrUnexpectedEOF):
		return Problem{Status: http.StatusBadRequest, Detail: "What was sent broke off: send it again."}
	}
	return Problem{Status: http.StatusInternalServerError,
		Detail: "An internal error. It was written to the log under the request's id."}
}

// fail answers a request with a problem. It is the only place that does.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	p := problemOf(err)
	// The end of the time for a body looks like a sender that has gone.
	if errors.Is(r.Context().Err(), context.Canceled) && p.Status != http.StatusRequestTimeout {
		p = Problem{Status: statusClientGone, Detail: "The request was given up."}
	}
	p.Type, p.RequestID = cmp.Or(p.Type, "about:blank"), requestID(r)
	p.Title = cmp.Or(p.Title, http.StatusText(p.Status))
	s.logProblem(r, p, err)
	h := w.Header()
	h.Del("Content-Length")
	h.Del("Content-Disposition")
	h.Set("Cache-Control", "no-store")
	switch p.Status {
	case http.StatusServiceUnavailable:
		h.Set("Retry-After", "5")
	case http.StatusTooManyRequests:
		h.Set("Retry-After", "1")
	case http.StatusUnauthorized:
		h.Set("WWW-Authenticate", `Bearer realm="relevel"`)
	}
	if s.problemPage != nil && wantsPage(r) {
		s.problemPage(w, r, p)
		return
	}
	h.Set("Content-Type", "application/problem+json")
	w.WriteHeader(p.Status)
	json.NewEncoder(w).Encode(p)
}

func (s *Server) logProblem(r *http.Request, p Problem, err error) {
	log := s.config.Logger.With("err", err)
	switch {
	case p.Status == http.StatusInternalServerError:
		log.ErrorContext(r.Context(), "internal error")
	case p.Status == http.StatusServiceUnavailable:
		log.WarnContext(r.Context(), "unavailable")
	default:
		log.DebugContext(r.Context(), "refused", "status", p.Status)
	}
}

// wantsPage reports whether a person with a browser asked, outside the API.
func wantsPage(r *http.Request) bool {
	return !strings.HasPrefix(r.URL.Path, "/api/") && strings.Contains(r.Header.Get("Accept"), "text/html")
}
