package server

import (
	"encoding/json"
	"fmt"
	"net/http"

	"github.com/gorilla/mux"

	"relevel/events"
)

// routes lists everything the server answers to.
func (s *Server) routes() http.Handler {
	r := mux.NewRouter()
	r.NotFoundHandler = s.answer(func(http.ResponseWriter, *http.Request) error {
		return refuse(http.StatusNotFound, "There is nothing at this address.")
	})
	r.MethodNotAllowedHandler = s.answer(func(http.ResponseWriter, *http.Request) error {
		return refuse(http.StatusMethodNotAllowed, "This address does not take that method.")
	})
	s.pageRoutes(r)
	return s.wrap(r)
}

// answer makes a handler of a function that may fail.
func (s *Server) answer(f func(http.ResponseWriter, *http.Request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := f(w, r); err != nil {
			s.fail(w, r, err)
		}
	})
}

// forFirm makes a handler of a function that works for one firm.
func (s *Server) forFirm(f func(w http.ResponseWriter, r *http.Request, firm events.ID) error) http.Handler {
	return s.answer(func(w http.ResponseWriter, r *http.Request) error {
		firm, err := s.firmOf(r)
		if err != nil {
			return err
		}
		return f(w, r, firm)
	})
}

// reply writes an answer as JSON. A sender that has gone away is no error.
func reply(w http.ResponseWriter, status int, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write answer: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	w.Write(append(b, '\n'))
	return nil
}
