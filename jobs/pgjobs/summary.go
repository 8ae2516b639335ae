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
	// folded more wins, unless the other folds differently.
	upsertSummary = `
		INSERT INTO job_summary AS kept (firm, job, seq, fold_version, body, updated_at)
		VALUES ($1, $2, $3, $4, $5, now())
		ON CONFLICT (firm, job) DO UPDATE
		SET seq = excluded.seq, fold_version = excluded.fold_version,
			body = excluded.body, updated_at = excluded.updated_at
		WHERE kept.fold_version <> excluded.fold_version OR kept.seq <= excluded.seq`
	selectSummaries = `
		SELECT firm, job, seq, fold_version, body
		FROM job_summary
		WHERE firm = $1
		ORDER BY job`
)

func scanSummary(row pgx.Row) (s jobs.Summary, err error) {
	var body []byte
	if err := row.Scan(idInto(&s.Firm), idInto(&s.Job), &s.Seq, &s.FoldVersion, &body); err != nil {
		return jobs.Summary{}, err
	}
	// A body of another fold version may not fit; then the row says only that
	// it is of that version.
	if err := json.Unmarshal(body, &s.Brief); err != nil && s.FoldVersion == jobs.FoldVersion {
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
	err = s.writeDerived(ctx, sum.Firm, with(upsertSummary, uuid(sum.Firm), uuid(sum.Job), sum.Seq, sum.FoldVersion, body))
	if err != nil {
		return fmt.Errorf("save summary: %w", err)
	}
	return nil
}

// ListSummaries implements jobs.Summaries.
func (s *Store) ListSummaries(ctx context.Context, firm events.ID) ([]jobs.Summary, error) {
	all, err := list(ctx, s, firm, selectSummaries, scanSummary)
	if err != nil {
		return nil, fmt.Errorf("list summaries: %w", err)
	}
	return all, nil
}
