// Package prooftest holds the suite that every proof.Store passes, and one in memory.
package prooftest

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"sync"
	"time"

	"relevel/events"
	"relevel/events/proof"
)

// Memory is a proof.Store that forgets everything with the process.
type Memory struct {
	mu     sync.Mutex
	jobs   map[jobKey][]proof.Kept // by size
	faults map[jobKey]map[int64]proof.Fault
	firms  map[events.ID]*firmLog
	keys   []proof.PublicKey
}

type jobKey struct{ firm, job events.ID }

type firmLog struct {
	entries []proof.Entry
	signed  []proof.Kept
}

// NewMemory makes an empty store.
func NewMemory() *Memory {
	return &Memory{jobs: map[jobKey][]proof.Kept{}, faults: map[jobKey]map[int64]proof.Fault{}, firms: map[events.ID]*firmLog{}}
}

func none(what string) error { return fmt.Errorf("find %s: %w", what, events.ErrNotFound) }

func bySize(a, b proof.Kept) int { return cmp.Compare(a.Size, b.Size) }

// KeepCheckpoint implements proof.Checkpoints.
func (m *Memory) KeepCheckpoint(_ context.Context, firm, job events.ID, k proof.Kept) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	key := jobKey{firm, job}
	at, known := slices.BinarySearchFunc(m.jobs[key], k, bySize)
	if !known {
		k.At = k.At.UTC().Truncate(time.Millisecond)
		m.jobs[key] = slices.Insert(m.jobs[key], at, k)
		return nil
	}
	if m.jobs[key][at].Frontier.Root() != k.Frontier.Root() {
		return fmt.Errorf("keep a checkpoint: %w", events.ErrConflict)
	}
	return nil
}

// FindCheckpoint implements proof.Checkpoints.
func (m *Memory) FindCheckpoint(_ context.Context, firm, job events.ID, size int64) (proof.Kept, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	all := m.jobs[jobKey{firm, job}]
	at, known := slices.BinarySearchFunc(all, proof.Kept{Size: size}, bySize)
	if !known {
		return proof.Kept{}, none("a checkpoint")
	}
	return all[at], nil
}

// LastCheckpoint implements proof.Checkpoints.
func (m *Memory) LastCheckpoint(_ context.Context, firm, job events.ID) (proof.Kept, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return last(m.jobs[jobKey{firm, job}])
}

func last(all []proof.Kept) (proof.Kept, error) {
	if len(all) == 0 {
		return proof.Kept{}, none("a checkpoint")
	}
	return all[len(all)-1], nil
}

// LastSizes implements proof.Checkpoints.
func (m *Memory) LastSizes(_ context.Context, firm events.ID, jobs []events.ID) (map[events.ID]int64, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	sizes := map[events.ID]int64{}
	for _, job := range jobs {
		if k, err := last(m.jobs[jobKey{firm, job}]); err == nil {
			sizes[job] = k.Size
		}
	}
	return sizes, nil
}

// KeepFault implements proof.Checkpoints.
func (m *Memory) KeepFault(_ context.Context, f proof.Fault) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	key := jobKey{f.Firm, f.Job}
	if m.faults[key] == nil {
		m.faults[key] = map[int64]proof.Fault{}
	}
	if _, known := m.faults[key][f.Held]; !known {
		f.At = f.At.UTC().Truncate(time.Millisecond)
		m.faults[key][f.Held] = f
	}
	return nil
}

// ListFaults implements proof.Checkpoints.
func (m *Memory) ListFaults(_ context.Context, firm, job events.ID) ([]proof.Fault, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.SortedFunc(maps.Values(m.faults[jobKey{firm, job}]), func(a, b proof.Fault) int { return cmp.Compare(a.Held, b.Held) }), nil
}

func (m *Memory) firm(id events.ID) *firmLog {
	if m.firms[id] == nil {
		m.firms[id] = &firmLog{}
	}
	return m.firms[id]
}

// Unlogged implements proof.FirmLog.
func (m *Memory) Unlogged(_ context.Context, firm events.ID) ([]proof.Entry, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	logged := map[events.ID]int64{}
	for _, e := range m.firm(firm).entries {
		logged[e.Job] = max(logged[e.Job], e.Size)
	}
	var more []proof.Entry
	for key, all := range m.jobs {
		if k, err := last(all); err == nil && key.firm == firm && k.Size > logged[key.job] {
			more = append(more, proof.Entry{Job: key.job, Size: k.Size, Note: k.Note})
		}
	}
	slices.SortFunc(more, func(a, b proof.Entry) int { return bytes.Compare(a.Job[:], b.Job[:]) })
	return more, nil
}

// ExtendFirmLog implements proof.FirmLog.
func (m *Memory) ExtendFirmLog(_ context.Context, firm events.ID, more []proof.Entry, k proof.Kept) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	log := m.firm(firm)
	for i, e := range more {
		if e.Seq != int64(len(log.entries)+i+1) {
			return fmt.Errorf("extend the firm's log: %w", events.ErrConflict)
		}
	}
	k.At = k.At.UTC().Truncate(time.Millisecond)
	log.entries, log.signed = append(log.entries, more...), append(log.signed, k)
	return nil
}

// ListEntries implements proof.FirmLog.
func (m *Memory) ListEntries(_ context.Context, firm events.ID, after int64, limit int) ([]proof.Entry, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	all := m.firm(firm).entries
	from := min(max(after, 0), int64(len(all)))
	return slices.Clone(all[from:min(from+int64(max(limit, 0)), int64(len(all)))]), nil
}

// LastFirmCheckpoint implements proof.FirmLog.
func (m *Memory) LastFirmCheckpoint(_ context.Context, firm events.ID) (proof.Kept, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return last(m.firm(firm).signed)
}

// KeepKey implements proof.Keys.
func (m *Memory) KeepKey(_ context.Context, k proof.PublicKey) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	k.From, k.Until = k.From.UTC().Truncate(time.Second), k.Until.UTC().Truncate(time.Second)
	for i, known := range m.keys {
		if known.Verifier == k.Verifier {
			if known.Until.IsZero() {
				m.keys[i].Until = k.Until
			}
			return nil
		}
	}
	m.keys = append(m.keys, k)
	slices.SortFunc(m.keys, func(a, b proof.PublicKey) int {
		return cmp.Or(a.From.Compare(b.From), cmp.Compare(a.Verifier, b.Verifier))
	})
	return nil
}

// ListKeys implements proof.Keys.
func (m *Memory) ListKeys(context.Context) ([]proof.PublicKey, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Clone(m.keys), nil
}
