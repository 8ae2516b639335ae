package pgjobs

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	jobColumns = `firm, id, name, place, crew, zone, created_at,
		coalesce(planned_first::text, ''), coalesce(planned_last::text, ''), closed_at, closed_seq, revision`
	insertJob = `
		INSERT INTO job (firm, id, name, place, crew, zone, created_at, planned_first, planned_last)
		VALUES ($1, $2, $3, $4, $5, $6, $7, nullif($8::text, '')::date, nullif($9::text, '')::date)
		ON CONFLICT (firm, id) DO NOTHING`
	selectJob = `
		SELECT ` + jobColumns + `
		FROM job
		WHERE firm = $1 AND id = $2`
	selectJobs = `
		SELECT ` + jobColumns + `
		FROM job
		WHERE firm = $1
		ORDER BY created_at DESC, id`
)

// scanJob reads the columns of a job, and what a query has after them.
func scanJob(row pgx.Row, more ...any) (j jobs.Job, err error) {
	var crew *[16]byte
	var closed *time.Time
	err = row.Scan(append([]any{idInto(&j.Firm), idInto(&j.ID), &j.Name, &j.Place, &crew, &j.Zone, &j.CreatedAt,
		&j.PlannedFirst, &j.PlannedLast, &closed, &j.ClosedSeq, &j.Revision}, more...)...)
	j.Crew = orZero(crew)
	j.CreatedAt = j.CreatedAt.UTC()
	if closed != nil {
		j.ClosedAt = closed.UTC()
	}
	return j, err
}

// CreateJob implements jobs.Jobs.
func (s *Store) CreateJob(ctx context.Context, j jobs.Job) error {
	var kept jobs.Job
	err := s.create(ctx, j.Firm,
		with(insertJob, uuid(j.Firm), uuid(j.ID), j.Name, j.Place, orNull(j.Crew), j.Zone, j.CreatedAt, j.PlannedFirst, j.PlannedLast),
		with(selectJob, uuid(j.Firm), uuid(j.ID)),
		func(row pgx.Row) (err error) { kept, err = scanJob(row); return err })
	if err != nil {
		return fmt.Errorf("create job: %w", err)
	}
	if !kept.Same(j) {
		return fmt.Errorf("create job: %w", events.ErrConflict)
	}
	return nil
}

// FindJob implements jobs.Jobs.
func (s *Store) FindJob(ctx context.Context, firm, id events.ID) (j jobs.Job, err error) {
	err = s.find(ctx, firm, with(selectJob, uuid(firm), uuid(id)),
		func(row pgx.Row) (err error) { j, err = scanJob(row); return err })
	if err != nil {
		return jobs.Job{}, fmt.Errorf("find job: %w", err)
	}
	return j, nil
}

// ListJobs implements jobs.Jobs.
func (s *Store) ListJobs(ctx context.Context, firm events.ID) ([]jobs.Job, error) {
	all, err := list(ctx, s, firm, selectJobs, func(row pgx.Row) (jobs.Job, error) { return scanJob(row) })
	if err != nil {
		return nil, fmt.Errorf("list jobs: %w", err)
	}
	return all, nil
}
