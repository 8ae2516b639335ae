package pgjobs

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	// Two servers may save the same job's row in any order: the one that has
	// folded more wins, unless the other folds differently. The diary goes with the
	// row, and only its days that read otherwise are written.
	upsertSummary = `
		WITH saved AS (
			INSERT INTO job_summary AS kept (firm, job, seq, fold_version, body, small, updated_at)
			VALUES ($1, $2, $3, $4, $5, $6, now())
			ON CONFLICT (firm, job) DO UPDATE
			SET seq = excluded.seq, fold_version = excluded.fold_version,
				body = excluded.body, small = excluded.small, updated_at = excluded.updated_at
			WHERE kept.fold_version <> excluded.fold_version OR kept.seq <= excluded.seq
			RETURNING firm, job
		), gone AS (
			DELETE FROM diary d USING saved
			WHERE d.firm = saved.firm AND d.job = saved.job AND d.day <> ALL ($7::date[])
		)
		INSERT INTO diary AS kept (firm, job, day, body)
		SELECT saved.firm, saved.job, told.day, told.body
		FROM saved, unnest($7::date[], $8::jsonb[]) AS told (day, body)
		ON CONFLICT (firm, job, day) DO UPDATE
		SET body = excluded.body
		WHERE kept.body <> excluded.body`
	selectSummariesOf = `
		SELECT firm, job, seq, fold_version, body, small
		FROM job_summary
		WHERE firm = $1 AND job = ANY ($2::uuid[])
		ORDER BY job`
	selectSummaries = `
		SELECT firm, job, seq, fold_version, body, small
		FROM job_summary
		WHERE firm = $1
		ORDER BY job`
	selectLatest = `
		SELECT id, coalesce(s.seq, -1), revision
		FROM job
		LEFT JOIN (SELECT job, seq FROM job_summary WHERE firm = $1) AS s ON s.job = job.id
		WHERE firm = $1`
	selectFolded = `
		SELECT ` + jobColumns + `, coalesce(s.seq, 0), coalesce(s.fold_version, 0)
		FROM job
		LEFT JOIN (SELECT job, seq, fold_version FROM job_summary WHERE firm = $1) AS s ON s.job = job.id
		WHERE firm = $1 AND (closed_at IS NOT NULL) = $2
		ORDER BY created_at DESC, id`
	selectDiary = `
		SELECT job, body
		FROM diary
		WHERE firm = $1 AND day BETWEEN $2::text::date AND $3::text::date
		ORDER BY day, job`
)

func scanSummary(row pgx.Row) (s jobs.Summary, err error) {
	var body []byte
	if err := row.Scan(idInto(&s.Firm), idInto(&s.Job), &s.Seq, &s.Version, &body, &s.Small); err != nil {
		return jobs.Summary{}, err
	}
	// A body of another version may not fit; then the row says only that it is of
	// that version.
	if err := json.Unmarshal(body, &s.Brief); err != nil && s.Version == jobs.SummaryVersion {
		return jobs.Summary{}, fmt.Errorf("read the summary of %s: %w", s.Job, err)
	}
	return s, nil
}

// SaveSummary implements jobs.Summaries.
func (s *Store) SaveSummary(ctx context.Context, sum jobs.Summary) error {
	body, err := json.Marshal(sum.Brief)
	if err != nil {
		return fmt.Errorf("save summary: %w", err)
	}
	days, told := make([]string, len(sum.Diary)), make([]string, len(sum.Diary))
	for i, d := range sum.Diary {
		text, err := json.Marshal(d)
		if err != nil {
			return fmt.Errorf("save summary: %w", err)
		}
		days[i], told[i] = d.On, string(text)
	}
	write := with(upsertSummary, uuid(sum.Firm), uuid(sum.Job), sum.Seq, sum.Version, body, sum.Small, days, told)
	if err := s.writeDerived(ctx, sum.Firm, write); err != nil {
		return fmt.Errorf("save summary: %w", err)
	}
	return nil
}

// ListSummaries implements jobs.Summaries.
func (s *Store) ListSummaries(ctx context.Context, firm events.ID, of ...events.ID) (all []jobs.Summary, err error) {
	query := with(selectSummaries, uuid(firm))
	if len(of) > 0 {
		query = with(selectSummariesOf, uuid(firm), uuids(of))
	}
	if all, err = listOf(ctx, s, firm, query, scanSummary); err != nil {
		return nil, fmt.Errorf("list summaries: %w", err)
	}
	return all, nil
}

// ListLatest implements jobs.Summaries.
func (s *Store) ListLatest(ctx context.Context, firm events.ID) (map[events.ID]jobs.Latest, error) {
	type row struct {
		job events.ID
		jobs.Latest
	}
	rows, err := list(ctx, s, firm, selectLatest, func(from pgx.Row) (r row, err error) {
		err = from.Scan(idInto(&r.job), &r.Seq, &r.Revision)
		return r, err
	})
	if err != nil {
		return nil, fmt.Errorf("list how far jobs are: %w", err)
	}
	all := make(map[events.ID]jobs.Latest, len(rows))
	for _, r := range rows {
		all[r.job] = r.Latest
	}
	return all, nil
}

// ListFolded implements jobs.Summaries.
func (s *Store) ListFolded(ctx context.Context, firm events.ID, closed bool) ([]jobs.Folded, error) {
	all, err := listOf(ctx, s, firm, with(selectFolded, uuid(firm), closed), func(row pgx.Row) (f jobs.Folded, err error) {
		f.Job, err = scanJob(row, &f.Seq, &f.Version)
		return f, err
	})
	if err != nil {
		return nil, fmt.Errorf("list jobs and their rows: %w", err)
	}
	return all, nil
}

// ListDiary implements jobs.Summaries.
func (s *Store) ListDiary(ctx context.Context, firm events.ID, from, to string) ([]jobs.DayOf, error) {
	all, err := listOf(ctx, s, firm, with(selectDiary, uuid(firm), from, to), scanDay)
	if err != nil {
		return nil, fmt.Errorf("list the diary: %w", err)
	}
	return all, nil
}

func scanDay(row pgx.Row) (d jobs.DayOf, err error) {
	var body []byte
	if err := row.Scan(idInto(&d.Job), &body); err != nil {
		return d, err
	}
	if err := json.Unmarshal(body, &d.Day); err != nil {
		return d, fmt.Errorf("read a day of %s: %w", d.Job, err)
	}
	return d, nil
}
