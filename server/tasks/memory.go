package tasks

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"sync"
	"time"

	"relevel/events"
)

// Memory is a Queue that forgets everything with the process, for one server alone
// and for tests.
type Memory struct {
	mu    sync.Mutex
	tasks map[name]*entry
	made  uint64
}

type name struct {
	firm      events.ID
	kind, ref string
}

// entry is one task and what of it a Task does not show.
type entry struct {
	Task
	again bool // added while it was being done
	dead  bool
}

// NewMemory returns an empty queue.
func NewMemory() *Memory { return &Memory{tasks: map[name]*entry{}} }

// Add implements Queue.
func (m *Memory) Add(_ context.Context, firm events.ID, due ...Task) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, t := range due {
		at := name{firm, t.Kind, t.Ref}
		e, known := m.tasks[at]
		switch {
		case !known:
			m.made++
			t.Firm, t.ID, t.Attempts, t.Lease, t.Failed = firm, events.ID{15: byte(m.made), 14: byte(m.made >> 8), 13: byte(m.made >> 16)}, 0, time.Time{}, ""
			m.tasks[at] = &entry{Task: t}
		case e.dead:
		case !e.Lease.IsZero():
			e.again = true
		case e.Attempts == 0 && t.Due.Before(e.Due):
			e.Due = t.Due
		}
	}
	return nil
}

// Claim implements Queue.
func (m *Memory) Claim(_ context.Context, c Claim) (claimed []Task, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var due []*entry
	for _, e := range m.tasks {
		if !e.dead && !e.Due.After(c.Now) && c.over(e.Lease) && slices.Contains(c.Kinds, e.Kind) && !slices.Contains(c.Except, e.Firm) {
			due = append(due, e)
		}
	}
	slices.SortFunc(due, func(a, b *entry) int { return cmp.Or(a.Due.Compare(b.Due), strings.Compare(a.Ref, b.Ref)) })
	for _, e := range due[:min(len(due), c.Limit)] {
		e.Lease = c.Until
		e.Attempts++
		claimed = append(claimed, e.Task)
	}
	return claimed, nil
}

// over reports whether a lease keeps nobody from a task any more.
func (c Claim) over(lease time.Time) bool {
	return lease.Before(c.Now) || lease.Sub(c.Until) > c.Until.Sub(c.Now)
}

// held finds a task that is still the claimer's.
func (m *Memory) held(t Task) (*entry, error) {
	e, ok := m.tasks[name{t.Firm, t.Kind, t.Ref}]
	if !ok || e.ID != t.ID || e.dead || !e.Lease.Equal(t.Lease) {
		return nil, events.ErrNotFound
	}
	return e, nil
}

// Extend implements Queue.
func (m *Memory) Extend(_ context.Context, t Task, until time.Time) (Task, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	e, err := m.held(t)
	if err != nil {
		return Task{}, err
	}
	e.Lease, t.Lease = until, until
	return t, nil
}

// Finish implements Queue.
func (m *Memory) Finish(_ context.Context, t Task) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	e, err := m.held(t)
	if err != nil {
		return err
	}
	if !e.again {
		delete(m.tasks, name{t.Firm, t.Kind, t.Ref})
		return nil
	}
	e.again, e.Lease, e.Attempts, e.Failed = false, time.Time{}, 0, ""
	return nil
}

// Retry implements Queue.
func (m *Memory) Retry(_ context.Context, t Task, r Retry) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	e, err := m.held(t)
	if err != nil {
		return err
	}
	e.Due, e.Failed, e.Lease, e.again = r.Due, r.Reason, time.Time{}, false
	if r.Free {
		e.Attempts--
	}
	return nil
}

// Bury implements Queue.
func (m *Memory) Bury(_ context.Context, t Task, reason string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	e, err := m.held(t)
	if err != nil {
		return err
	}
	e.dead, e.Failed, e.Lease = true, reason, time.Time{}
	return nil
}

// Dead implements Queue.
func (m *Memory) Dead(_ context.Context, firm events.ID) (dead []Task, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for at, e := range m.tasks {
		if at.firm == firm && e.dead {
			dead = append(dead, e.Task)
		}
	}
	slices.SortFunc(dead, func(a, b Task) int { return cmp.Or(strings.Compare(a.Kind, b.Kind), strings.Compare(a.Ref, b.Ref)) })
	return dead, nil
}

// Drop implements Queue.
func (m *Memory) Drop(_ context.Context, firm events.ID, kind, prefix string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for at := range m.tasks {
		if at.firm == firm && at.kind == kind && strings.HasPrefix(at.ref, prefix) {
			delete(m.tasks, at)
		}
	}
	return nil
}
