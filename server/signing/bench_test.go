package signing_test

import (
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/server/signing"
)

// A job of 5 000 records: one record more is signed by what is new; the whole tree is
// read for proofs, and once an hour.
func BenchmarkJobOf5000(b *testing.B) {
	db := pgtest.New(b)
	ring, err := signing.OpenRing(filepath.Join(b.TempDir(), "keys"), "relevel.example", began, &seeded{3})
	if err != nil {
		b.Fatal(err)
	}
	s := &signing.Signer{Log: pglog.New(db.App), Store: pgproof.New(db.App), Ring: ring, Now: time.Now, Logger: slog.New(slog.DiscardHandler)}
	firm, job, make := eventstest.NewFirm(b), eventstest.NewFirm(b), eventstest.NewMaker(b)
	if err := s.Log.Create(b.Context(), firm, job); err != nil {
		b.Fatal(err)
	}
	record := func(n int) {
		if _, err := s.Log.Append(b.Context(), eventstest.BatchOf(firm, job, make.Notes(job, n)...)); err != nil {
			b.Fatal(err)
		}
	}
	for range 5000 / events.MaxBatchEvents {
		record(events.MaxBatchEvents)
	}
	b.Run("sign", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			record(1)
			b.StartTimer()
			if _, err := s.Sign(b.Context(), firm, job); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("tree", func(b *testing.B) {
		k, err := s.Sign(b.Context(), firm, job)
		if err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			if _, err := s.Tree(b.Context(), firm, job, k); err != nil {
				b.Fatal(err)
			}
		}
	})
}
