package server

import (
	"net/http"

	"relevel/events"
	"relevel/jobs"
)

// getPeople is GET people.
func (s *Server) getPeople(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	people, err := s.config.Store.ListPeople(r.Context(), firm)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"people": orEmpty(people)})
}

// postPerson is POST people. With an id of the sender's own it may be repeated.
func (s *Server) postPerson(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	var p jobs.Person
	if err := decode(w, r, &p); err != nil {
		return err
	}
	p.Firm, p.CreatedAt = firm, s.stamp()
	if err := s.nameIt(&p.ID); err != nil {
		return err
	}
	if err := p.Check(); err != nil {
		return err
	}
	if err := s.config.Store.CreatePerson(r.Context(), p); err != nil {
		return err
	}
	s.trail.note(firm, r, jobs.Trace{What: jobs.PersonAdded, About: p.ID, Detail: string(p.Role)})
	return reply(w, http.StatusCreated, p)
}

// getCrews is GET crews.
func (s *Server) getCrews(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	crews, err := s.config.Store.ListCrews(r.Context(), firm)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"crews": orEmpty(crews)})
}

// postCrew is POST crews. With an id of the sender's own it may be repeated.
func (s *Server) postCrew(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	var c jobs.Crew
	if err := decode(w, r, &c); err != nil {
		return err
	}
	c.Firm = firm
	if err := s.nameIt(&c.ID); err != nil {
		return err
	}
	if err := c.Check(); err != nil {
		return err
	}
	if err := s.config.Store.CreateCrew(r.Context(), c); err != nil {
		return err
	}
	return reply(w, http.StatusCreated, c)
}

// orEmpty lets an empty list be written as [] and not as null.
func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
