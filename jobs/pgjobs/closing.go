package pgjobs

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/jobs"
)

const (
	updateJob = `
		UPDATE job
		SET name = $4, place = $5, crew = $6, zone = $7,
			planned_first = nullif($8::text, '')::date, planned_last = nullif($9::text, '')::date, revision = revision + 1
		WHERE firm = $1 AND id = $2 AND revision = $3
		RETURNING ` + jobColumns
	// The row of the job is the lock: of two who close it at once one finds it closed.
	closeJob = `
		WITH turned AS (
			UPDATE job
			SET closed_at = CASE WHEN $4 THEN $5::timestamptz END, closed_seq = CASE WHEN $4 THEN $8::bigint ELSE 0 END, revision = revision + 1
			WHERE firm = $1 AND id = $3 AND (closed_at IS NULL) = $4
				AND NOT EXISTS (SELECT FROM job_closing WHERE firm = $1 AND id = $2)
			RETURNING firm, id
		)
		INSERT INTO job_closing (firm, id, job, closed, at, person, why, seq)
		SELECT firm, $2, id, $4, $5, $6, $7, $8 FROM turned`
	selectClosing = `
		SELECT firm, id, job, closed, at, person, why, seq
		FROM job_closing
		WHERE firm = $1 AND id = $2`
	selectClosings = `
		SELECT firm, id, job, closed, at, person, why, seq
		FROM job_closing
		WHERE firm = $1 AND job = $2
		ORDER BY at DESC, id DESC`
)

func scanClosing(row pgx.Row) (c jobs.Closing, err error) {
	var by *[16]byte
	err = row.Scan(idInto(&c.Firm), idInto(&c.ID), idInto(&c.Job), &c.Closed, &c.At, &by, &c.Why, &c.Seq)
	c.By, c.At = orZero(by), c.At.UTC()
	return c, err
}

// UpdateJob implements jobs.Jobs.
func (s *Store) UpdateJob(ctx context.Context, j jobs.Job) error {
	err := s.change(ctx, j.Firm,
		with(updateJob, uuid(j.Firm), uuid(j.ID), j.Revision, j.Name, j.Place, orNull(j.Crew), j.Zone, j.PlannedFirst, j.PlannedLast),
		func(row pgx.Row) error { _, err := scanJob(row); return err })
	switch {
	case pgdb.Code(err) == foreignKeyViolation:
		err = events.ErrNotFound
	case errors.Is(err, events.ErrNotFound):
		err = s.missingOrConflict(ctx, j.Firm, j.ID)
	}
	if err != nil {
		return fmt.Errorf("update job: %w", err)
	}
	return nil
}

// missingOrConflict says why a change of a job found nothing to change.
func (s *Store) missingOrConflict(ctx context.Context, firm, job events.ID) error {
	if _, err := s.FindJob(ctx, firm, job); err != nil {
		return err
	}
	return events.ErrConflict
}

// CloseJob implements jobs.Jobs.
func (s *Store) CloseJob(ctx context.Context, c jobs.Closing) error {
	var kept jobs.Closing
	err := s.create(ctx, c.Firm,
		with(closeJob, uuid(c.Firm), uuid(c.ID), uuid(c.Job), c.Closed, c.At, orNull(c.By), c.Why, c.Seq),
		with(selectClosing, uuid(c.Firm), uuid(c.ID)),
		func(row pgx.Row) (err error) { kept, err = scanClosing(row); return err })
	if errors.Is(err, pgx.ErrNoRows) {
		err = s.missingOrConflict(ctx, c.Firm, c.Job)
	}
	if err != nil {
		return fmt.Errorf("close job: %w", err)
	}
	if kept.Job != c.Job || kept.Closed != c.Closed {
		return fmt.Errorf("close job: %w", events.ErrConflict)
	}
	return nil
}

// ListClosings implements jobs.Jobs.
func (s *Store) ListClosings(ctx context.Context, firm, job events.ID) ([]jobs.Closing, error) {
	all, err := listOf(ctx, s, firm, with(selectClosings, uuid(firm), uuid(job)), scanClosing)
	if err != nil {
		return nil, fmt.Errorf("list closings: %w", err)
	}
	return all, nil
}
