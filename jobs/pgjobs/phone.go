package pgjobs

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	// Runs of numbers join in the database, so that two servers that hear of one
	// device at once both count.
	upsertHeard = `
		INSERT INTO phone AS kept (firm, device, seen, heard_at)
		SELECT $1, $2, coalesce(range_agg(int8range(run.first, run.last, '[]')), '{}'), $5
		FROM unnest($3::bigint[], $4::bigint[]) AS run (first, last)
		ON CONFLICT (firm, device) DO UPDATE
		SET seen = kept.seen + excluded.seen, heard_at = greatest(kept.heard_at, excluded.heard_at)`
	upsertPhoneReport = `
		INSERT INTO phone AS kept (firm, device, heard_at, report, oldest_unsent_at)
		VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (firm, device) DO UPDATE
		SET report = excluded.report, oldest_unsent_at = excluded.oldest_unsent_at, heard_at = greatest(kept.heard_at, excluded.heard_at)`
	// A range of whole numbers is kept without its upper end.
	selectPhones = `
		SELECT firm, device, heard_at, report,
			ARRAY(SELECT lower(run) FROM unnest(seen) AS run ORDER BY run),
			ARRAY(SELECT upper(run) - 1 FROM unnest(seen) AS run ORDER BY run)
		FROM phone
		WHERE firm = $1
		ORDER BY device`
)

func scanPhone(row pgx.Row) (p jobs.Phone, err error) {
	var report []byte
	var first, last []int64
	if err := row.Scan(idInto(&p.Firm), idInto(&p.Device), &p.HeardAt, &report, &first, &last); err != nil {
		return jobs.Phone{}, err
	}
	p.HeardAt = p.HeardAt.UTC()
	for i := range first {
		p.Seen = append(p.Seen, jobs.Span{first[i], last[i]})
	}
	if report == nil {
		return p, nil
	}
	if err := json.Unmarshal(report, &p.Report); err != nil {
		return jobs.Phone{}, fmt.Errorf("read the report of %s: %w", p.Device, err)
	}
	return p, nil
}

// HearPhone implements jobs.Phones.
func (s *Store) HearPhone(ctx context.Context, h jobs.Heard) error {
	first, last := make([]int64, len(h.Seen)), make([]int64, len(h.Seen))
	for i, run := range h.Seen {
		first[i], last[i] = run[0], run[1]
	}
	if err := s.writeDerived(ctx, h.Firm, with(upsertHeard, uuid(h.Firm), uuid(h.Device), first, last, h.At)); err != nil {
		return fmt.Errorf("hear from a phone: %w", err)
	}
	return nil
}

// unsentSince is when the oldest record was made that is still on a phone, as it is
// counted over all firms; NULL where it has sent all, or did not say.
func unsentSince(r jobs.PhoneReport) *time.Time {
	if r.Unsent == 0 || r.OldestUnsentAt.IsZero() {
		return nil
	}
	return &r.OldestUnsentAt
}

// SavePhoneReport implements jobs.Phones.
func (s *Store) SavePhoneReport(ctx context.Context, firm, device events.ID, r jobs.PhoneReport) error {
	report, err := json.Marshal(r)
	if err != nil {
		return fmt.Errorf("save a phone's report: %w", err)
	}
	if err := s.writeDerived(ctx, firm, with(upsertPhoneReport, uuid(firm), uuid(device), r.At, report, unsentSince(r))); err != nil {
		return fmt.Errorf("save a phone's report: %w", err)
	}
	return nil
}

// ListPhones implements jobs.Phones.
func (s *Store) ListPhones(ctx context.Context, firm events.ID) ([]jobs.Phone, error) {
	phones, err := list(ctx, s, firm, selectPhones, scanPhone)
	if err != nil {
		return nil, fmt.Errorf("list phones: %w", err)
	}
	return phones, nil
}
