package server

import (
	"bytes"
	"cmp"
	"context"
	"net/http"
	"slices"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// keyOf returns the job an address names. What is no id names nothing.
func keyOf(r *http.Request, firm events.ID) (jobKey, error) {
	job, err := events.ParseID(mux.Vars(r)["job"])
	if err != nil || job.IsZero() {
		return jobKey{}, events.ErrNotFound
	}
	return jobKey{firm, job}, nil
}

// listedJob is a job in a list, with the figures that were saved last. They are
// missing while nobody has folded the job with this version of the program.
type listedJob struct {
	jobs.Job
	Seq   int64       `json:"seq"` // of the last event in the figures
	Brief *jobs.Brief `json:"brief,omitempty"`
}

// headedJob is the answer to GET jobs/{job}.
type headedJob struct {
	jobs.Job
	Seq  int64       `json:"seq"`  // of the last event of its log
	Root events.Hash `json:"root"` // of its tree
}

// getJobs is GET jobs.
func (s *Server) getJobs(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	list, err := s.listJobs(r, firm)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"jobs": list})
}

// listJobs joins a firm's jobs with their summaries and asks for those that
// are missing.
func (s *Server) listJobs(r *http.Request, firm events.ID) ([]listedJob, error) {
	all, err := s.config.Store.ListJobs(r.Context(), firm)
	if err != nil {
		return nil, err
	}
	rows, err := s.config.Store.ListSummaries(r.Context(), firm)
	if err != nil {
		return nil, err
	}
	byJob := make(map[events.ID]jobs.Summary, len(rows))
	for _, row := range rows {
		byJob[row.Job] = row
	}
	list := make([]listedJob, len(all))
	for i, j := range all {
		list[i].Job = j
		row, ok := byJob[j.ID]
		if !ok || row.Version != jobs.SummaryVersion {
			s.summaries.mark(jobKey{firm, j.ID})
			continue
		}
		list[i].Seq, list[i].Brief = row.Seq, &row.Brief
	}
	return list, nil
}

// listReached lists all of a firm's jobs like listJobs, and tells how far their rows are
// without reading them: figures of hundreds of jobs take longer than all else. Where a
// row is missing, or of another version, the version is 0.
func (s *Server) listReached(ctx context.Context, firm events.ID) (list []jobs.Folded, err error) {
	for _, closed := range []bool{false, true} {
		all, err := s.config.Store.ListFolded(ctx, firm, closed)
		if err != nil {
			return nil, err
		}
		for _, j := range all {
			if j.Version != jobs.SummaryVersion {
				s.summaries.mark(jobKey{firm, j.ID})
				j.Seq, j.Version = 0, 0
			}
			list = append(list, j)
		}
	}
	slices.SortStableFunc(list, func(a, b jobs.Folded) int {
		return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), bytes.Compare(a.ID[:], b.ID[:]))
	})
	return list, nil
}

// postJob is POST jobs. With an id of the sender's own it may be repeated.
func (s *Server) postJob(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	j := jobs.Job{}
	if err := decode(w, r, &j); err != nil {
		return err
	}
	kept, err := s.createJob(r, firm, j)
	if err != nil {
		return err
	}
	w.Header().Set("Location", "/api/v1/jobs/"+kept.ID.String())
	return reply(w, http.StatusCreated, kept)
}

// createJob makes a job and its empty log, and returns the job as it is kept.
func (s *Server) createJob(r *http.Request, firm events.ID, j jobs.Job) (jobs.Job, error) {
	ctx := r.Context()
	j.Firm, j.CreatedAt = firm, s.stamp()
	if err := s.nameIt(&j.ID); err != nil {
		return jobs.Job{}, err
	}
	if err := s.checkJob(r, j); err != nil {
		return jobs.Job{}, err
	}
	if err := s.config.Store.CreateJob(ctx, j); err != nil {
		return jobs.Job{}, err
	}
	// A crash here leaves a job without a log; its first events make up for it.
	if err := s.config.Log.Create(ctx, firm, j.ID); err != nil {
		return jobs.Job{}, err
	}
	return s.config.Store.FindJob(ctx, firm, j.ID)
}

func (s *Server) checkCrew(r *http.Request, firm, crew events.ID) error {
	if crew.IsZero() {
		return nil
	}
	crews, err := s.config.Store.ListCrews(r.Context(), firm)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(crews, func(c jobs.Crew) bool { return c.ID == crew }) {
		return levelling.Bad("crew", "the id of one of the firm's crews")
	}
	return nil
}

// getJob is GET jobs/{job}.
func (s *Server) getJob(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	j, err := s.config.Store.FindJob(r.Context(), key.firm, key.job)
	if err != nil {
		return err
	}
	head, err := s.config.Log.Head(r.Context(), key.firm, key.job)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, headedJob{j, head.Seq, head.Root})
}

// nameIt gives a new thing an id unless its sender did.
func (s *Server) nameIt(id *events.ID) (err error) {
	if id.IsZero() {
		*id, err = events.NewID(s.config.Now(), s.config.Random)
	}
	return err
}

// stamp is the time at which something is created.
func (s *Server) stamp() time.Time { return s.config.Now().UTC().Truncate(time.Millisecond) }
