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
	r.Use(noteRoute)
	r.NotFoundHandler = s.answer(func(http.ResponseWriter, *http.Request) error {
		return refuse(http.StatusNotFound, "There is nothing at this address.")
	})
	r.MethodNotAllowedHandler = s.answer(func(http.ResponseWriter, *http.Request) error {
		return refuse(http.StatusMethodNotAllowed, "This address does not take that method.")
	})
	r.Handle(healthPath, s.answer(s.getHealth)).Methods(http.MethodGet, http.MethodHead)
	r.Handle(readyPath, s.answer(s.getReady)).Methods(http.MethodGet, http.MethodHead)
	s.apiRoutes(r)
	s.pageRoutes(r)
	s.router = r
	return s.wrap(r)
}

// apiRoutes lists the API. All of it works for the firm of the token, but pair, which has none yet. It is no
// subrouter: in one, mux takes a wrong method for an unknown address.
func (s *Server) apiRoutes(r *mux.Router) {
	api := firmRoutes{s, r, "/api/v1"}

	api.get("/jobs", s.getJobs)
	api.post("/jobs", s.postJob)
	api.get("/jobs/{job}", s.getJob)
	api.post("/jobs/{job}/particulars", s.postParticulars)
	api.post("/jobs/{job}/closing", s.postClosing)
	api.get("/jobs/{job}/events", s.getEvents)
	api.post("/jobs/{job}/events", s.postEvents)
	api.get("/jobs/{job}/state", s.getState)
	api.get("/jobs/{job}/choices", s.getChoices)
	api.get("/jobs/{job}/packers", s.getCutting)
	api.get("/jobs/{job}/rounds", s.getRounds)
	api.get("/jobs/{job}/supports/{support}/carrying", s.getCarrying)
	api.get("/jobs/{job}/live", s.streamJob)
	api.get("/live", s.streamFirm)

	api.on("/photos/{sha256}", s.putPhoto, http.MethodPut)
	api.get("/photos/{sha256}", s.getPhoto)
	api.get("/photos/{sha256}/state", s.getPhotoState)

	api.get("/people", s.getPeople)
	api.post("/people", s.postPerson)
	api.get("/crews", s.getCrews)
	api.post("/crews", s.postCrew)
	api.get("/profiles", s.getProfiles)
	api.post("/profiles", s.postProfile)
	api.get("/jacks", s.getJacks)
	api.post("/jacks", s.postJack)
	api.get("/lasers", s.getLasers)
	api.post("/lasers", s.postLaser)
	api.get("/practice", s.getPractice)
	api.post("/practice", s.postPractice)
	api.get("/quarantine", s.getQuarantine)
	api.post("/quarantine/{key}/decisions", s.postDecision)
	api.get("/search", s.getSearch)
	api.get("/phone", s.getPhone)
	api.post("/phone/report", s.postPhoneReport)

	api.post("/pairings", s.postPairing)
	api.get("/devices", s.getDevices)
	api.post("/devices/{device}/revoke", s.postRevoke)
	r.Handle("/api/v1/pair", s.answer(s.postPair)).Methods(http.MethodPost) // of nobody yet

	s.checkpointRoutes(r, api)

	api.get("/calc", s.getCalc)
	api.post("/calc/{name}", s.postCalc)
	r.Handle("/api/v1/openapi.json", s.answer(s.getDescription)).Methods(http.MethodGet, http.MethodHead)
}

// firmRoutes adds addresses below a prefix, each of which works for the firm of
// the request.
type firmRoutes struct {
	s      *Server
	r      *mux.Router
	prefix string
}

func (f firmRoutes) on(path string, h firmHandler, methods ...string) {
	f.r.Handle(f.prefix+path, f.s.forFirm(h)).Methods(methods...)
}

func (f firmRoutes) get(path string, h firmHandler) { f.on(path, h, http.MethodGet, http.MethodHead) }

func (f firmRoutes) post(path string, h firmHandler) { f.on(path, h, http.MethodPost) }

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

// forFirm makes a handler of a function that works for one firm, for those who may use
// its address.
func (s *Server) forFirm(f firmHandler) http.Handler {
	return s.answer(func(w http.ResponseWriter, r *http.Request) error {
		a, err := s.whoAsks(r)
		if err != nil {
			return err
		}
		if err := permit(r, a); err != nil {
			return err
		}
		askedBy(r).by = a
		if a.as()&byOffice == 0 {
			w = limitedWriter{w, s.mayOpen(a)}
		}
		if err := f(w, r, a.firm); err != nil {
			return err
		}
		s.trail.saw(r, useOf(r, mux.CurrentRoute(r), ""))
		return nil
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
