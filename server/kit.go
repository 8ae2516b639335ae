package server

import (
	"context"
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// kitJack is a jack as it was recorded, with what is to be said of it today.
type kitJack struct {
	jobs.Jack
	Due string `json:"due,omitempty"`
}

func jacksOn(jacks []jobs.Jack, now time.Time) []kitJack {
	list := make([]kitJack, len(jacks))
	for i, j := range jacks {
		list[i] = kitJack{j, j.Due(now)}
	}
	return list
}

// getJacks is GET jacks: the newest record of each name, those out of use too.
func (s *Server) getJacks(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	jacks, err := s.config.Store.ListJacks(r.Context(), firm)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"jacks": jacksOn(jacks, s.config.Now())})
}

// postJack is POST jacks. With an id of the sender's own it may be repeated.
func (s *Server) postJack(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	var j jobs.Jack
	if err := decode(w, r, &j); err != nil {
		return err
	}
	kept, err := s.createJack(r.Context(), firm, j)
	if err != nil {
		return err
	}
	return reply(w, http.StatusCreated, kitJack{kept, kept.Due(s.config.Now())})
}

func (s *Server) createJack(ctx context.Context, firm events.ID, j jobs.Jack) (jobs.Jack, error) {
	j.Firm, j.CreatedAt = firm, s.stamp()
	if err := s.nameIt(&j.ID); err != nil {
		return j, err
	}
	if err := j.Check(); err != nil {
		return j, err
	}
	return j, s.config.Store.CreateJack(ctx, j)
}

// kitLaser is a laser as it was recorded, with what is to be said of it today.
type kitLaser struct {
	jobs.Laser
	Due string `json:"due,omitempty"`
}

func lasersOn(lasers []jobs.Laser, now time.Time) []kitLaser {
	list := make([]kitLaser, len(lasers))
	for i, l := range lasers {
		list[i] = kitLaser{l, l.Due(now)}
	}
	return list
}

// getLasers is GET lasers: the newest record of each name, those out of use too.
func (s *Server) getLasers(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	lasers, err := s.config.Store.ListLasers(r.Context(), firm)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"lasers": lasersOn(lasers, s.config.Now())})
}

// postLaser is POST lasers. With an id of the sender's own it may be repeated.
func (s *Server) postLaser(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	var l jobs.Laser
	if err := decode(w, r, &l); err != nil {
		return err
	}
	kept, err := s.createLaser(r.Context(), firm, l)
	if err != nil {
		return err
	}
	return reply(w, http.StatusCreated, kitLaser{kept, kept.Due(s.config.Now())})
}

func (s *Server) createLaser(ctx context.Context, firm events.ID, l jobs.Laser) (jobs.Laser, error) {
	l.Firm, l.CreatedAt = firm, s.stamp()
	if err := s.nameIt(&l.ID); err != nil {
		return l, err
	}
	if err := l.Check(); err != nil {
		return l, err
	}
	return l, s.config.Store.CreateLaser(ctx, l)
}

// getPractice is GET practice: how the firm goes about lifting, empty until
// somebody sets it.
func (s *Server) getPractice(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	p, err := s.config.Store.FindPractice(r.Context(), firm)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, p)
}

// postPractice is POST practice: another one takes the place of the one in use.
func (s *Server) postPractice(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	var p jobs.Practice
	if err := decode(w, r, &p); err != nil {
		return err
	}
	kept, err := s.createPractice(r.Context(), firm, p)
	if err != nil {
		return err
	}
	return reply(w, http.StatusCreated, kept)
}

func (s *Server) createPractice(ctx context.Context, firm events.ID, p jobs.Practice) (jobs.Practice, error) {
	p.Firm, p.CreatedAt = firm, s.stamp()
	if err := s.nameIt(&p.ID); err != nil {
		return p, err
	}
	if err := p.Check(); err != nil {
		return p, err
	}
	return p, s.config.Store.CreatePractice(ctx, p)
}
