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
	selectSummary = `
		SELECT firm, job, seq, fold_version, body, small
		FROM job_summary
		WHERE firm = $1 AND job = $2`
	selectSummaries = `
		SELECT firm, job, seq, fold_version, body, small
		FROM job_summary
		WHERE firm = $1
		ORDER BY job`
	selectFolded = `SELECT job, seq FROM job_summary WHERE firm = $1`
	selectDiary  = `
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

// FindSummary implements jobs.Summaries.
func (s *Store) FindSummary(ctx context.Context, firm, job events.ID) (sum jobs.Summary, err error) {
	err = s.find(ctx, firm, with(selectSummary, uuid(firm), uuid(job)),
		func(row pgx.Row) (err error) { sum, err = scanSummary(row); return err })
	if err != nil {
		return jobs.Summary{}, fmt.Errorf("find summary: %w", err)
	}
	return sum, nil
}

// ListSummaries implements jobs.Summaries.
func (s *Store) ListSummaries(ctx context.Context, firm events.ID) ([]jobs.Summary, error) {
	all, err := list(ctx, s, firm, selectSummaries, scanSummary)
	if err != nil {
		return nil, fmt.Errorf("list summaries: %w", err)
	}
	return all, nil
}

// ListFolded implements jobs.Summaries.
func (s *Store) ListFolded(ctx context.Context, firm events.ID) (map[events.ID]int64, error) {
	type folded struct {
		job events.ID
		seq int64
	}
	all, err := list(ctx, s, firm, selectFolded, func(row pgx.Row) (f folded, err error) { return f, row.Scan(idInto(&f.job), &f.seq) })
	if err != nil {
		return nil, fmt.Errorf("list what is folded: %w", err)
	}
	seqs := make(map[events.ID]int64, len(all))
	for _, f := range all {
		seqs[f.job] = f.seq
	}
	return seqs, nil
}

// ListDiary implements jobs.Summaries.
func (s *Store) ListDiary(ctx context.Context, firm events.ID, from, to string) (all []jobs.DayOf, err error) {
	if firm.IsZero() {
		return nil, nil
	}
	err = s.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectDiary, uuid(firm), from, to).Query(func(rows pgx.Rows) error {
			all, err = pgx.CollectRows(rows, scanDay)
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list the diary: %w", err)
	}
	return all, nil
}

func scanDay(row pgx.CollectableRow) (d jobs.DayOf, err error) {
	var body []byte
	if err := row.Scan(idInto(&d.Job), &body); err != nil {
		return d, err
	}
	if err := json.Unmarshal(body, &d.Day); err != nil {
		return d, fmt.Errorf("read a day of %s: %w", d.Job, err)
	}
	return d, nil
}
