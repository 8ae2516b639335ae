package eventstest

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"iter"
	"maps"
	"slices"
	"sync"

	"relevel/events"
)

// Hook is called around what a memory store does, with the name of the method
// in lower case. An error from it is the answer of the call.
type Hook func(method string) error

func (h Hook) call(method string) error {
	if h == nil {
		return nil
	}
	return h(method)
}

// MemObjects is an object store in memory. Before fails a call that then
// changed nothing; After fails one that has already done its work, as a
// connection does that is cut before the answer. Set both before use.
type MemObjects struct {
	Before, After Hook
	Synced        bool // what Durable reports
	Tells         bool // whether Put answers with the digest

	mu     sync.Mutex
	bodies map[events.Key][]byte
}

// Put implements events.Objects.
func (m *MemObjects) Put(ctx context.Context, o events.Object, body io.ReaderAt) (told bool, err error) {
	if err := m.begin(ctx, "put"); err != nil {
		return false, err
	}
	b, err := io.ReadAll(io.NewSectionReader(body, 0, o.Bytes))
	if err != nil {
		return false, fmt.Errorf("read body: %w", err)
	}
	if int64(len(b)) != o.Bytes {
		return false, fmt.Errorf("body of %d bytes, stated as %d", len(b), o.Bytes)
	}
	m.Replace(o.Key, b)
	return m.Tells, m.After.call("put")
}

// Replace changes what a key holds behind the back of everybody, as decay does.
func (m *MemObjects) Replace(k events.Key, b []byte) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.bodies == nil {
		m.bodies = make(map[events.Key][]byte)
	}
	m.bodies[k] = b
}

// Len is how many keys hold something.
func (m *MemObjects) Len() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return len(m.bodies)
}

// Open implements events.Objects.
func (m *MemObjects) Open(ctx context.Context, k events.Key) (io.ReadCloser, int64, error) {
	b, err := m.find(ctx, "open", k)
	if err != nil {
		return nil, 0, err
	}
	return io.NopCloser(bytes.NewReader(b)), int64(len(b)), nil
}

// Stat implements events.Objects.
func (m *MemObjects) Stat(ctx context.Context, k events.Key) (int64, error) {
	b, err := m.find(ctx, "stat", k)
	return int64(len(b)), err
}

// Delete implements events.Objects.
func (m *MemObjects) Delete(ctx context.Context, k events.Key) error {
	if err := m.begin(ctx, "delete"); err != nil {
		return err
	}
	m.mu.Lock()
	delete(m.bodies, k)
	m.mu.Unlock()
	return m.After.call("delete")
}

// Durable implements events.Objects.
func (m *MemObjects) Durable() bool { return m.Synced }

func (m *MemObjects) begin(ctx context.Context, method string) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	return m.Before.call(method)
}

func (m *MemObjects) find(ctx context.Context, method string, k events.Key) ([]byte, error) {
	if err := m.begin(ctx, method); err != nil {
		return nil, err
	}
	m.mu.Lock()
	b, ok := m.bodies[k]
	m.mu.Unlock()
	if !ok {
		return nil, fmt.Errorf("%s: %w", k, events.ErrNotFound)
	}
	return b, m.After.call(method)
}

// MemLedger is a ledger in memory, with the same hooks.
type MemLedger struct {
	Before, After Hook

	mu      sync.Mutex
	entries map[events.Key]events.Kept
}

// Record implements events.Ledger.
func (m *MemLedger) Record(ctx context.Context, k events.Kept) error {
	return m.write(ctx, "record", k, func(old events.Kept) error {
		if old.State.Rank() < k.State.Rank() {
			m.entries[ledgerKey(k)] = k
		}
		return nil
	})
}

// Change implements events.Ledger.
func (m *MemLedger) Change(ctx context.Context, was, now events.Kept) error {
	return m.write(ctx, "change", was, func(old events.Kept) error {
		if old.State != was.State || !old.At.Equal(was.At) {
			return fmt.Errorf("change %s: %w", was.SHA256, events.ErrConflict)
		}
		m.entries[ledgerKey(was)] = now
		return nil
	})
}

func (m *MemLedger) write(ctx context.Context, method string, k events.Kept, do func(old events.Kept) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := m.Before.call(method); err != nil {
		return err
	}
	m.mu.Lock()
	if m.entries == nil {
		m.entries = make(map[events.Key]events.Kept)
	}
	err := do(m.entries[ledgerKey(k)])
	m.mu.Unlock()
	if err != nil {
		return err
	}
	return m.After.call(method)
}

// Find implements events.Ledger.
func (m *MemLedger) Find(ctx context.Context, firm events.ID, file events.Digest) (events.Kept, error) {
	if err := ctx.Err(); err != nil {
		return events.Kept{}, err
	}
	if err := m.Before.call("find"); err != nil {
		return events.Kept{}, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	k, ok := m.entries[events.Key{Firm: firm, SHA256: file}]
	if !ok {
		return events.Kept{}, fmt.Errorf("file %s: %w", file, events.ErrNotFound)
	}
	return k, nil
}

// FindAll implements events.Ledger.
func (m *MemLedger) FindAll(ctx context.Context, firm events.ID, files []events.Digest) ([]events.Kept, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := m.Before.call("findall"); err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	var found []events.Kept
	for key, k := range m.entries {
		if key.Firm == firm && slices.Contains(files, key.SHA256) {
			found = append(found, k)
		}
	}
	return found, nil
}

// Oldest implements events.Ledger.
func (m *MemLedger) Oldest(ctx context.Context, q events.KeptQuery) ([]events.Kept, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := m.Before.call("oldest"); err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	var found []events.Kept
	for _, k := range m.entries {
		if k.Firm == q.Firm && k.State == q.State && k.At.Before(q.Before) {
			found = append(found, k)
		}
	}
	slices.SortFunc(found, func(a, b events.Kept) int {
		return cmp.Or(a.At.Compare(b.At), bytes.Compare(a.SHA256[:], b.SHA256[:]))
	})
	return found[:min(len(found), q.Limit)], nil
}

func ledgerKey(k events.Kept) events.Key { return events.Key{Firm: k.Firm, SHA256: k.SHA256} }

// List implements events.Lister.
func (m *MemObjects) List(ctx context.Context) iter.Seq2[events.Listed, error] {
	return func(yield func(events.Listed, error) bool) {
		if err := m.begin(ctx, "list"); err != nil {
			yield(events.Listed{}, err)
			return
		}
		m.mu.Lock()
		bodies := maps.Clone(m.bodies)
		m.mu.Unlock()
		for k, b := range bodies {
			if !yield(events.Listed{Name: k.String(), Key: k, Bytes: int64(len(b))}, nil) {
				return
			}
		}
	}
}
