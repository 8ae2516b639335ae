package eventstest

import (
	"context"
	"errors"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
)

// Many at once.

func logEndedContext(t *testing.T, l *logTest) {
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := l.log.Append(ended, BatchOf(l.firm, l.job, l.make.Note(l.job))); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("Append: %v, want ErrUnavailable", err)
	}
	if seq := l.head(l.firm, l.job).Seq; seq != 0 {
		t.Errorf("head is at %d after an append for a caller who had left", seq)
	}
}

func logManyAppenders(t *testing.T, l *logTest) {
	const appenders, rounds = 8, 15
	var wg sync.WaitGroup
	for range appenders {
		wg.Go(func() {
			for range rounds {
				batch := l.make.Notes(l.job, 2)
				receipt, err := l.log.Append(t.Context(), BatchOf(l.firm, l.job, batch...))
				if err != nil {
					t.Error(err)
					return
				}
				// One commit: the events of a batch follow each other.
				if a, b := receipt.Results[0], receipt.Results[1]; b.Seq != a.Seq+1 || a.Outcome != events.WasStored {
					t.Errorf("results %+v %+v", a, b)
				}
			}
		})
	}
	wg.Wait()
	if got := len(l.wantWhole(l.firm, l.job)); got != 2*appenders*rounds {
		t.Errorf("%d events, want %d", got, 2*appenders*rounds)
	}
}

func logSameBatchAtOnce(t *testing.T, l *logTest) {
	batch := l.make.Notes(l.job, 20)
	seqs := make([][]int64, 8)
	var wg sync.WaitGroup
	for i := range seqs {
		wg.Go(func() {
			receipt, err := l.log.Append(t.Context(), BatchOf(l.firm, l.job, batch...))
			if err != nil {
				t.Error(err)
			}
			for _, result := range receipt.Results {
				seqs[i] = append(seqs[i], result.Seq)
			}
		})
	}
	wg.Wait()
	for _, got := range seqs[1:] {
		if diff := cmp.Diff(seqs[0], got); diff != "" {
			t.Errorf("two senders of one batch were answered differently:\n%s", diff)
		}
	}
	if got := len(l.wantWhole(l.firm, l.job)); got != len(batch) {
		t.Errorf("%d events, want %d", got, len(batch))
	}
}

// A reader that asks for what follows the last number it has seen gets every
// event, in order, while others append.
func logReadersMissNone(t *testing.T, l *logTest) {
	const appenders, rounds = 4, 25
	var writing sync.WaitGroup
	for range appenders {
		writing.Go(func() {
			for range rounds {
				if _, err := l.log.Append(t.Context(), BatchOf(l.firm, l.job, l.make.Note(l.job))); err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	var seen int64
	for seen < appenders*rounds && !t.Failed() {
		page, err := l.log.Read(t.Context(), l.firm, l.job, seen, 1000)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range page {
			seen++
			if s.Seq != seen {
				t.Fatalf("read number %d after %d", s.Seq, seen-1)
			}
		}
	}
	writing.Wait()
}
