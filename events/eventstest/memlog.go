package eventstest

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"fmt"
	"slices"
	"sync"

	"relevel/events"
)

// MemLog is a log in memory. Before fails a call that then changed nothing;
// After fails one that has already stored, as when a connection is cut before
// the answer. Set both before use.
type MemLog struct {
	Before, After Hook

	mu   sync.Mutex
	jobs map[events.ID]map[events.ID]*memJob // by firm and job
	kept map[events.ID]map[events.Digest]events.Quarantined
	said map[events.ID]map[events.Digest][]events.Decision
}

type memJob struct {
	head   events.Head
	stored []events.Stored
	known  map[events.ID]events.Known
}

// NewMemLog makes an empty log.
func NewMemLog() *MemLog {
	return &MemLog{
		jobs: make(map[events.ID]map[events.ID]*memJob),
		kept: make(map[events.ID]map[events.Digest]events.Quarantined),
		said: make(map[events.ID]map[events.Digest][]events.Decision),
	}
}

// Create implements events.Log.
func (m *MemLog) Create(ctx context.Context, firm, job events.ID) error {
	return m.call(ctx, "create", func() error {
		if m.jobs[firm] == nil {
			m.jobs[firm] = make(map[events.ID]*memJob)
		}
		if m.jobs[firm][job] == nil {
			m.jobs[firm][job] = &memJob{
				head:  events.Head{Root: events.Frontier(nil).Root()},
				known: make(map[events.ID]events.Known),
			}
		}
		return nil
	})
}

// Append implements events.Log.
func (m *MemLog) Append(ctx context.Context, b events.Batch) (events.Receipt, error) {
	if err := b.Check(); err != nil {
		return events.Receipt{}, err
	}
	var receipt events.Receipt
	err := m.call(ctx, "append", func() error {
		j, err := m.find(b.Firm, b.Job)
		if err != nil {
			return err
		}
		salts := make([]events.Salt, len(b.Events))
		for i := range salts {
			rand.Read(salts[i][:]) // never fails
		}
		a := b.Arrange(j.head, j.known, salts)
		if err := b.Follows(j.head, a); err != nil {
			return err
		}
		j.take(a)
		for _, q := range a.Apart {
			m.quarantine(q)
		}
		receipt = a.Receipt
		return nil
	})
	if err != nil {
		return events.Receipt{}, err
	}
	return receipt, nil
}

func (j *memJob) take(a events.Arranged) {
	j.head = a.Receipt.Head
	for _, s := range a.New {
		s.Raw = bytes.Clone(s.Raw)
		j.stored = append(j.stored, s)
		j.known[s.ID] = events.Known{Seq: s.Seq, Kind: s.Kind, RecordedAt: s.RecordedAt, Leaf: s.Leaf, Salt: s.Salt}
	}
}

// Read implements events.Log.
func (m *MemLog) Read(ctx context.Context, firm, job events.ID, after int64, limit int) ([]events.Stored, error) {
	var page []events.Stored
	err := m.call(ctx, "read", func() error {
		j, err := m.find(firm, job)
		if err != nil {
			return err
		}
		from := min(max(after, 0), j.head.Seq)
		to := min(from+int64(max(limit, 0)), j.head.Seq)
		for _, s := range j.stored[from:to] {
			known := events.Known{Seq: s.Seq, Kind: s.Kind, RecordedAt: s.RecordedAt, Leaf: s.Leaf, Salt: s.Salt}
			page = append(page, events.Restore(job, s.ID, s.V, known, s.Raw))
		}
		return nil
	})
	return page, err
}

// Leaves implements events.Log.
func (m *MemLog) Leaves(ctx context.Context, firm, job events.ID, after int64, limit int) ([]events.Hash, error) {
	var page []events.Hash
	err := m.call(ctx, "leaves", func() error {
		j, err := m.find(firm, job)
		if err != nil {
			return err
		}
		from := min(max(after, 0), j.head.Seq)
		for _, s := range j.stored[from:min(from+int64(max(limit, 0)), j.head.Seq)] {
			page = append(page, s.Leaf)
		}
		return nil
	})
	return page, err
}

// Head implements events.Log.
func (m *MemLog) Head(ctx context.Context, firm, job events.ID) (events.Head, error) {
	var head events.Head
	err := m.call(ctx, "head", func() error {
		j, err := m.find(firm, job)
		if err == nil {
			head = j.head
		}
		return err
	})
	return head, err
}

// Seqs implements events.Log.
func (m *MemLog) Seqs(ctx context.Context, firm events.ID, jobs []events.ID) (map[events.ID]int64, error) {
	seqs := map[events.ID]int64{}
	err := m.call(ctx, "seqs", func() error {
		for _, job := range jobs {
			if j, err := m.find(firm, job); err == nil {
				seqs[job] = j.head.Seq
			}
		}
		return nil
	})
	return seqs, err
}

// Quarantine implements events.Log.
func (m *MemLog) Quarantine(ctx context.Context, q events.Quarantined) error {
	return m.call(ctx, "quarantine", func() error {
		m.quarantine(q)
		return nil
	})
}

// Quarantined implements events.Log.
func (m *MemLog) Quarantined(ctx context.Context, firm events.ID, limit int) ([]events.Quarantined, error) {
	var list []events.Quarantined
	err := m.call(ctx, "quarantined", func() error {
		for _, q := range m.kept[firm] {
			list = append(list, q)
		}
		slices.SortFunc(list, func(a, b events.Quarantined) int {
			return cmp.Or(b.At.Compare(a.At), bytes.Compare(a.Raw, b.Raw))
		})
		list = list[:min(limit, len(list))]
		return nil
	})
	return list, err
}

// Erase removes the bytes of an event, as the role eraser does in a database.
func (m *MemLog) Erase(firm, job events.ID, seq int64) {
	m.mu.Lock()
	defer m.mu.Unlock()
	j := m.jobs[firm][job]
	s := &j.stored[seq-1]
	s.Raw, s.Salt = nil, nil
	known := j.known[s.ID]
	known.Salt = nil
	j.known[s.ID] = known
}

func (m *MemLog) call(ctx context.Context, method string, do func() error) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("%w: %w", events.ErrUnavailable, err)
	}
	if err := m.Before.call(method); err != nil {
		return err
	}
	m.mu.Lock()
	err := do()
	m.mu.Unlock()
	if err != nil {
		return err
	}
	return m.After.call(method)
}

func (m *MemLog) find(firm, job events.ID) (*memJob, error) {
	if j := m.jobs[firm][job]; j != nil {
		return j, nil
	}
	return nil, fmt.Errorf("find the job: %w", events.ErrNotFound)
}

func (m *MemLog) quarantine(q events.Quarantined) {
	key := q.Key()
	if m.kept[q.Firm] == nil {
		m.kept[q.Firm] = make(map[events.Digest]events.Quarantined)
	}
	if _, exists := m.kept[q.Firm][key]; !exists {
		q.Raw = bytes.Clone(q.Raw)
		m.kept[q.Firm][key] = q
	}
}

// Restore implements events.Restorer.
func (m *MemLog) Restore(ctx context.Context, firm, job events.ID, records []events.Stored) (head events.Head, err error) {
	err = m.call(ctx, "restore", func() error {
		j, err := m.find(firm, job)
		if err != nil {
			return err
		}
		var known []events.Hash
		if len(records) > 0 {
			for _, s := range j.stored[min(max(records[0].Seq-1, 0), int64(len(j.stored))):] {
				known = append(known, s.Leaf)
			}
		}
		a, err := events.Continue(j.head, firm, job, known, records)
		if err != nil {
			return err
		}
		j.take(a)
		head = j.head
		return nil
	})
	return head, err
}
