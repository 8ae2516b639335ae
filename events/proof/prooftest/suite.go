package prooftest

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/mod/sumdb/tlog"

	"relevel/events"
	"relevel/events/proof"
)

// Store checks that a store keeps the contract of proof.Store. Open gives one for one
// test; it may hold what is others'.
func Store(t *testing.T, open func(t *testing.T) proof.Store) {
	for name, test := range map[string]func(*testing.T, proof.Store){
		"Checkpoints":   checkpoints,
		"SameSizeAgain": sameSizeAgain,
		"Faults":        faults,
		"FirmLog":       firmLogGrows,
		"FirmLogAtOnce": firmLogAtOnce,
		"Keys":          keys,
	} {
		t.Run(name, func(t *testing.T) { test(t, open(t)) })
	}
}

var when = time.Date(2026, 3, 2, 4, 5, 6, 789_000_000, time.UTC)

func newID(t *testing.T) (id events.ID) {
	t.Helper()
	rand.Read(id[:]) // never fails
	return id
}

// signed is a checkpoint of so many leaves, all of them made of word.
func signed(size int64, word string) proof.Kept {
	var f events.Frontier
	for n := range size {
		f = f.Grow(n, tlog.RecordHash(fmt.Appendf(nil, "%s %d", word, n)))
	}
	return proof.Kept{Size: size, Frontier: f, Note: fmt.Appendf(nil, "%s\n%d\n", word, size), At: when.Add(time.Duration(size) * time.Second)}
}

func want[T any](t *testing.T, what string, want, got T, err error) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" || err != nil {
		t.Errorf("%s: %v (-want +got):\n%s", what, err, diff)
	}
}

func wantNone(t *testing.T, what string, err error) {
	t.Helper()
	if !errors.Is(err, events.ErrNotFound) {
		t.Errorf("%s: %v, want %v", what, err, events.ErrNotFound)
	}
}

func checkpoints(t *testing.T, s proof.Store) {
	ctx, firm, job, other := t.Context(), newID(t), newID(t), newID(t)
	_, err := s.LastCheckpoint(ctx, firm, job)
	wantNone(t, "before any", err)
	for _, size := range []int64{3, 12, 7} {
		if err := s.KeepCheckpoint(ctx, firm, job, signed(size, "a")); err != nil {
			t.Fatal(err)
		}
	}
	got, err := s.LastCheckpoint(ctx, firm, job)
	want(t, "the last", signed(12, "a"), got, err)
	got, err = s.FindCheckpoint(ctx, firm, job, 7)
	want(t, "one of them", signed(7, "a"), got, err)
	_, err = s.FindCheckpoint(ctx, firm, job, 8)
	wantNone(t, "a size that was not signed", err)
	if err := s.KeepCheckpoint(ctx, firm, other, signed(5, "b")); err != nil {
		t.Fatal(err)
	}
	sizes, err := s.LastSizes(ctx, firm, []events.ID{job, other, newID(t)})
	want(t, "sizes", map[events.ID]int64{job: 12, other: 5}, sizes, err)

	stranger := newID(t)
	_, err = s.LastCheckpoint(ctx, stranger, job)
	wantNone(t, "another firm's", err)
	_, err = s.FindCheckpoint(ctx, stranger, job, 7)
	wantNone(t, "another firm's", err)
	sizes, err = s.LastSizes(ctx, stranger, []events.ID{job})
	want(t, "another firm's sizes", map[events.ID]int64{}, sizes, err)
}

func sameSizeAgain(t *testing.T, s proof.Store) {
	ctx, firm, job := t.Context(), newID(t), newID(t)
	again := signed(4, "a")
	again.Note, again.At = []byte("by another server\n"), when.Add(time.Hour)
	for i, k := range []proof.Kept{signed(4, "a"), again, signed(4, "a")} {
		if err := s.KeepCheckpoint(ctx, firm, job, k); err != nil {
			t.Errorf("the %d. time: %v", i+1, err)
		}
	}
	if err := s.KeepCheckpoint(ctx, firm, job, signed(4, "b")); !errors.Is(err, events.ErrConflict) {
		t.Errorf("another root of the same size: %v", err)
	}
	got, err := s.FindCheckpoint(ctx, firm, job, 4)
	want(t, "the first", signed(4, "a"), got, err)
}

func faults(t *testing.T, s proof.Store) {
	ctx, firm, job := t.Context(), newID(t), newID(t)
	first := proof.Fault{Firm: firm, Job: job, Held: 9, Size: 12, Root: events.Hash{1}, Why: "other leaves", At: when}
	small := proof.Fault{Firm: firm, Job: job, Held: 4, Size: 12, Root: events.Hash{1}, Why: "other leaves", At: when.Add(time.Second)}
	later := first
	later.Size, later.Why, later.At = 20, "again", when.Add(time.Hour)
	for _, f := range []proof.Fault{first, small, later, first} {
		if err := s.KeepFault(ctx, f); err != nil {
			t.Fatal(err)
		}
	}
	got, err := s.ListFaults(ctx, firm, job)
	want(t, "faults", []proof.Fault{small, first}, got, err)
	for _, other := range []struct{ firm, job events.ID }{{newID(t), job}, {firm, newID(t)}} {
		if got, err := s.ListFaults(ctx, other.firm, other.job); err != nil || len(got) != 0 {
			t.Errorf("of another: %v, %v", got, err)
		}
	}
}

// entry is what the firm's log says of a checkpoint.
func entry(seq int64, job events.ID, k proof.Kept) proof.Entry {
	return proof.Entry{Seq: seq, Job: job, Size: k.Size, Leaf: tlog.RecordHash(k.Note), Note: k.Note}
}

func unlogged(job events.ID, k proof.Kept) proof.Entry {
	return proof.Entry{Job: job, Size: k.Size, Note: k.Note}
}

func firmLogGrows(t *testing.T, s proof.Store) {
	ctx, firm, one, two := t.Context(), newID(t), events.ID{1}, events.ID{2}
	keep := func(job events.ID, k proof.Kept) proof.Kept {
		t.Helper()
		if err := s.KeepCheckpoint(ctx, firm, job, k); err != nil {
			t.Fatal(err)
		}
		return k
	}
	_, err := s.LastFirmCheckpoint(ctx, firm)
	wantNone(t, "before any", err)
	keep(one, signed(3, "a"))
	a, b := keep(one, signed(5, "a")), keep(two, signed(2, "b"))
	got, err := s.Unlogged(ctx, firm)
	want(t, "not logged", []proof.Entry{unlogged(one, a), unlogged(two, b)}, got, err)
	first := []proof.Entry{entry(1, one, a), entry(2, two, b)}
	if err := s.ExtendFirmLog(ctx, firm, first, signed(2, "firm")); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Unlogged(ctx, firm); err != nil || len(got) != 0 {
		t.Errorf("not logged after all is: %v, %v", got, err)
	}
	c := keep(two, signed(4, "b"))
	got, err = s.Unlogged(ctx, firm)
	want(t, "not logged later", []proof.Entry{unlogged(two, c)}, got, err)
	for _, seq := range []int64{2, 4} {
		if err := s.ExtendFirmLog(ctx, firm, []proof.Entry{entry(seq, two, c)}, signed(seq, "firm")); !errors.Is(err, events.ErrConflict) {
			t.Errorf("on to %d: %v", seq, err)
		}
	}
	if err := s.ExtendFirmLog(ctx, firm, []proof.Entry{entry(3, two, c)}, signed(3, "firm")); err != nil {
		t.Fatal(err)
	}
	all := append(first, entry(3, two, c))
	got, err = s.ListEntries(ctx, firm, 0, 10)
	want(t, "entries", all, got, err)
	got, err = s.ListEntries(ctx, firm, 1, 1)
	want(t, "a page", all[1:2], got, err)
	kept, err := s.LastFirmCheckpoint(ctx, firm)
	want(t, "the last", signed(3, "firm"), kept, err)
	firmsAreApart(ctx, t, s)
}

func firmsAreApart(ctx context.Context, t *testing.T, s proof.Store) {
	t.Helper()
	stranger := newID(t)
	_, err := s.LastFirmCheckpoint(ctx, stranger)
	wantNone(t, "another firm's", err)
	if got, err := s.ListEntries(ctx, stranger, 0, 10); err != nil || len(got) != 0 {
		t.Errorf("another firm lists %v, %v", got, err)
	}
	if got, err := s.Unlogged(ctx, stranger); err != nil || len(got) != 0 {
		t.Errorf("another firm is to log %v, %v", got, err)
	}
}

// Of servers that extend the log at once, one does.
func firmLogAtOnce(t *testing.T, s proof.Store) {
	firm, job := newID(t), newID(t)
	k := signed(5, "a")
	if err := s.KeepCheckpoint(t.Context(), firm, job, k); err != nil {
		t.Fatal(err)
	}
	answers := make([]error, 6)
	var all sync.WaitGroup
	for i := range answers {
		all.Go(func() {
			answers[i] = s.ExtendFirmLog(t.Context(), firm, []proof.Entry{entry(1, job, k)}, signed(1, "firm"))
		})
	}
	all.Wait()
	won := 0
	for _, err := range answers {
		if err == nil {
			won++
		} else if !errors.Is(err, events.ErrConflict) {
			t.Error(err)
		}
	}
	if got, err := s.ListEntries(t.Context(), firm, 0, 10); won != 1 || err != nil || len(got) != 1 {
		t.Errorf("%d extended it to %v, %v", won, got, err)
	}
}

func keys(t *testing.T, s proof.Store) {
	ctx, day := t.Context(), when.Truncate(time.Second)
	newer := newVerifier(t)
	older := newVerifier(t)
	for _, k := range []proof.PublicKey{
		{Verifier: newer, From: when.Add(time.Hour)},
		{Verifier: older, From: when},
		{Verifier: older, From: when.Add(2 * time.Hour), Until: when.Add(3 * time.Hour)}, // retired
		{Verifier: older, From: when, Until: when.Add(9 * time.Hour)},                    // said again
		{Verifier: older, From: when},                                                    // by one who has not heard
	} {
		if err := s.KeepKey(ctx, k); err != nil {
			t.Fatal(err)
		}
	}
	all, err := s.ListKeys(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var got []proof.PublicKey
	for _, k := range all {
		if k.Verifier == older || k.Verifier == newer {
			got = append(got, k)
		}
	}
	want(t, "keys", []proof.PublicKey{{Verifier: older, From: day, Until: day.Add(3 * time.Hour)}, {Verifier: newer, From: day.Add(time.Hour)}}, got, nil)
}

func newVerifier(t *testing.T) string {
	t.Helper()
	_, verifier, err := proof.GenerateKey(rand.Reader, "relevel.example")
	if err != nil {
		t.Fatal(err)
	}
	return verifier
}
