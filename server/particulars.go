package server

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// postParticulars is POST jobs/{job}/particulars: all of them, with the revision they
// were read with. Where the job was changed since it is 409.
func (s *Server) postParticulars(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	var j jobs.Job
	if err := decode(w, r, &j); err != nil {
		return err
	}
	j.Firm, j.ID = firm, key.job
	kept, err := s.changeJob(r, j)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, kept)
}

// changeJob puts a job's particulars in the place of what they were.
func (s *Server) changeJob(r *http.Request, j jobs.Job) (jobs.Job, error) {
	if err := s.checkJob(r, j); err != nil {
		return j, err
	}
	if err := s.config.Store.UpdateJob(r.Context(), j); err != nil {
		return j, err
	}
	s.hub.publishChange(jobKey{j.Firm, j.ID})
	return s.config.Store.FindJob(r.Context(), j.Firm, j.ID)
}

// checkJob reports, as an InputError, what of a job's particulars makes no sense.
func (s *Server) checkJob(r *http.Request, j jobs.Job) error {
	if err := j.Check(); err != nil {
		return err
	}
	if _, err := time.LoadLocation(j.Zone); err != nil || j.Zone == "Local" {
		return levelling.Bad("zone", "the time zone of the site, for example Australia/Sydney")
	}
	return s.checkCrew(r, j.Firm, j.Crew)
}

// postClosing is POST jobs/{job}/closing: {"id"?,"closed","why","by"?,"seq"}, where seq
// is the last event that whoever decides has seen. Where another came since, or the
// job is so already, it is 409.
func (s *Server) postClosing(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	var c jobs.Closing
	if err := decode(w, r, &c); err != nil {
		return err
	}
	c.Firm, c.Job, c.At = firm, key.job, s.stamp()
	if err := s.nameIt(&c.ID); err != nil {
		return err
	}
	if err := s.closeJob(r.Context(), c); err != nil {
		return err
	}
	kept, err := s.config.Store.FindJob(r.Context(), firm, key.job)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, kept)
}

// closeJob closes a job or opens it again, on the book as whoever decides has seen
// it. What is recorded in the same moment is stored all the same, and shown as after.
func (s *Server) closeJob(ctx context.Context, c jobs.Closing) error {
	if err := c.Check(); err != nil {
		return err
	}
	if _, err := s.config.Store.FindJob(ctx, c.Firm, c.Job); err != nil {
		return err
	}
	head, err := s.config.Log.Head(ctx, c.Firm, c.Job)
	if err != nil {
		return err
	}
	if head.Seq != c.Seq {
		return fmt.Errorf("the book has reached line %d, and line %d was seen: %w", head.Seq, c.Seq, events.ErrConflict)
	}
	if err := s.config.Store.CloseJob(ctx, c); err != nil {
		return err
	}
	s.hub.publishChange(jobKey{c.Firm, c.Job})
	return nil
}
