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
	r.Handle("/healthz", s.answer(s.getHealth)).Methods(http.MethodGet, http.MethodHead)
	r.Handle("/readyz", s.answer(s.getReady)).Methods(http.MethodGet, http.MethodHead)
	s.apiRoutes(r)
	s.pageRoutes(r)
	return s.wrap(r)
}

// apiRoutes lists the API. All of it works for the firm of the token. It is no
// subrouter: in one, mux takes a wrong method for an unknown address.
func (s *Server) apiRoutes(r *mux.Router) {
	on := func(path string, h firmHandler, methods ...string) {
		r.Handle("/api/v1"+path, s.forFirm(h)).Methods(methods...)
	}
	get := func(path string, h firmHandler) { on(path, h, http.MethodGet, http.MethodHead) }
	post := func(path string, h firmHandler) { on(path, h, http.MethodPost) }

	get("/jobs", s.getJobs)
	post("/jobs", s.postJob)
	get("/jobs/{job}", s.getJob)
	get("/jobs/{job}/events", s.getEvents)
	post("/jobs/{job}/events", s.postEvents)
	get("/jobs/{job}/state", s.getState)
	get("/jobs/{job}/live", s.streamJob)
	get("/live", s.streamFirm)

	on("/photos/{sha256}", s.putPhoto, http.MethodPut)
	get("/photos/{sha256}", s.getPhoto)
	get("/photos/{sha256}/state", s.getPhotoState)

	get("/people", s.getPeople)
	post("/people", s.postPerson)
	get("/crews", s.getCrews)
	post("/crews", s.postCrew)
	get("/quarantine", s.getQuarantine)

	get("/calc", s.getCalc)
	post("/calc/{name}", s.postCalc)
}

// firmHandler answers a request of one firm.
type firmHandler func(w http.ResponseWriter, r *http.Request, firm events.ID) error

// answer makes a handler of a function that may fail.
func (s *Server) answer(f func(http.ResponseWriter, *http.Request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := f(w, r); err != nil {
			s.fail(w, r, err)
		}
	})
}

// forFirm makes a handler of a function that works for one firm.
func (s *Server) forFirm(f firmHandler) http.Handler {
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
