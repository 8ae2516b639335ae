package jobstest

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// hooksKept is what Memory keeps of hooks.
type hooksKept struct {
	hooks      map[key]jobs.Hook
	told       map[key]map[string]int64
	deliveries map[key][]jobs.Delivery // the newest first
}

func newHooksKept() hooksKept {
	return hooksKept{hooks: map[key]jobs.Hook{}, told: map[key]map[string]int64{}, deliveries: map[key][]jobs.Delivery{}}
}

func sameHook(a, b jobs.Hook) bool {
	return a.Name == b.Name && a.URL == b.URL && a.Secret == b.Secret && slices.Equal(a.Happenings, b.Happenings)
}

// CreateHook implements jobs.Hooks.
func (m *Memory) CreateHook(ctx context.Context, h jobs.Hook) error {
	return m.call(ctx, "CreateHook", func() error {
		if err := m.needFirm(h.Firm); err != nil {
			return err
		}
		h.Happenings = slices.Clone(h.Happenings)
		return put(m.hooks, key{h.Firm, h.ID}, h, sameHook)
	})
}

// FindHook implements jobs.Hooks.
func (m *Memory) FindHook(ctx context.Context, firm, id events.ID) (h jobs.Hook, err error) {
	err = m.call(ctx, "FindHook", func() error {
		var ok bool
		if h, ok = m.hooks[key{firm, id}]; !ok {
			return events.ErrNotFound
		}
		return nil
	})
	return h, err
}

// ListHooks implements jobs.Hooks.
func (m *Memory) ListHooks(ctx context.Context, firm events.ID) (all []jobs.Hook, err error) {
	err = m.call(ctx, "ListHooks", func() error {
		for k, h := range m.hooks {
			if k.firm == firm {
				all = append(all, h)
			}
		}
		slices.SortFunc(all, func(a, b jobs.Hook) int {
			return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), slices.Compare(b.ID[:], a.ID[:]))
		})
		return nil
	})
	return all, err
}

// MarkHook implements jobs.Hooks.
func (m *Memory) MarkHook(ctx context.Context, firm, id events.ID, s jobs.HookStanding) error {
	return m.call(ctx, "MarkHook", func() error {
		h, ok := m.hooks[key{firm, id}]
		if !ok {
			return events.ErrNotFound
		}
		h.HookStanding = s
		m.hooks[key{firm, id}] = h
		return nil
	})
}

// DeleteHook implements jobs.Hooks.
func (m *Memory) DeleteHook(ctx context.Context, firm, id events.ID) error {
	return m.call(ctx, "DeleteHook", func() error {
		k := key{firm, id}
		if _, ok := m.hooks[k]; !ok {
			return events.ErrNotFound
		}
		delete(m.hooks, k)
		delete(m.told, k)
		delete(m.deliveries, k)
		return nil
	})
}

// Tell implements jobs.Hooks.
func (m *Memory) Tell(ctx context.Context, t jobs.Told) error {
	return m.call(ctx, "Tell", func() error {
		k := key{t.Firm, t.Hook}
		if _, ok := m.hooks[k]; !ok {
			return events.ErrNotFound
		}
		if m.told[k] == nil {
			m.told[k] = map[string]int64{}
		}
		m.told[k][t.Subject] = max(m.told[k][t.Subject], t.Seq)
		return nil
	})
}

// FindTold implements jobs.Hooks.
func (m *Memory) FindTold(ctx context.Context, firm, hook events.ID, subject string) (seq int64, err error) {
	err = m.call(ctx, "FindTold", func() error {
		var ok bool
		if seq, ok = m.told[key{firm, hook}][subject]; !ok {
			return events.ErrNotFound
		}
		return nil
	})
	return seq, err
}

// ListTold implements jobs.Hooks.
func (m *Memory) ListTold(ctx context.Context, firm, hook events.ID) (told map[string]int64, err error) {
	told = map[string]int64{}
	err = m.call(ctx, "ListTold", func() error {
		for subject, seq := range m.told[key{firm, hook}] {
			told[subject] = seq
		}
		return nil
	})
	return told, err
}

// AddDelivery implements jobs.Hooks.
func (m *Memory) AddDelivery(ctx context.Context, d jobs.Delivery) error {
	return m.call(ctx, "AddDelivery", func() error {
		k := key{d.Firm, d.Hook}
		if _, ok := m.hooks[k]; !ok {
			return events.ErrNotFound
		}
		list := append([]jobs.Delivery{d}, m.deliveries[k]...)
		slices.SortStableFunc(list, func(a, b jobs.Delivery) int {
			return cmp.Or(b.At.Compare(a.At), slices.Compare(b.ID[:], a.ID[:]))
		})
		m.deliveries[k] = list[:min(len(list), jobs.KeptDeliveries)]
		return nil
	})
}

// ListDeliveries implements jobs.Hooks.
func (m *Memory) ListDeliveries(ctx context.Context, firm, hook events.ID) (all []jobs.Delivery, err error) {
	err = m.call(ctx, "ListDeliveries", func() error {
		all = slices.Clone(m.deliveries[key{firm, hook}])
		return nil
	})
	return all, err
}

func newHook(t *testing.T, firm events.ID) jobs.Hook {
	return jobs.Hook{
		Firm: firm, ID: newID(t), Name: "the bookkeeper", URL: "https://office.example/told", Secret: "rlh_1",
		Happenings: []jobs.Happening{jobs.AnyEvent, jobs.KeptApart}, CreatedAt: start,
	}
}

func hookOK(t *testing.T, s jobs.Store) {
	f := newFirm(t, s)
	h := newHook(t, f.ID)
	for range 2 { // a repeat changes nothing
		if err := s.CreateHook(t.Context(), h); err != nil {
			t.Fatal(err)
		}
	}
	later := newHook(t, f.ID)
	later.CreatedAt = start.Add(time.Second)
	if err := s.CreateHook(t.Context(), later); err != nil {
		t.Fatal(err)
	}
	h.HookStanding = jobs.HookStanding{PausedAt: start, FailingAt: start.Add(time.Hour), Failing: "no answer"}
	if err := s.MarkHook(t.Context(), f.ID, h.ID, h.HookStanding); err != nil {
		t.Fatal(err)
	}
	got, err := s.FindHook(t.Context(), f.ID, h.ID)
	if diff := gocmp.Diff(h, got); err != nil || diff != "" {
		t.Errorf("%v: %s", err, diff)
	}
	all, err := s.ListHooks(t.Context(), f.ID)
	if diff := gocmp.Diff([]jobs.Hook{later, h}, all); err != nil || diff != "" {
		t.Errorf("%v: %s", err, diff)
	}
	other := h
	other.URL += "/elsewhere"
	if err := s.CreateHook(t.Context(), other); !errors.Is(err, events.ErrConflict) {
		t.Errorf("another hook of that id: %v, want ErrConflict", err)
	}
}

// A hook is told of each subject by itself, and never of less than before.
func hookTold(t *testing.T, s jobs.Store) {
	f := newFirm(t, s)
	h := newHook(t, f.ID)
	if err := s.CreateHook(t.Context(), h); err != nil {
		t.Fatal(err)
	}
	for _, told := range []jobs.Told{{Subject: "job/a", Seq: 7}, {Subject: "job/b", Seq: 1}, {Subject: "job/a", Seq: 5}} {
		told.Firm, told.Hook = f.ID, h.ID
		if err := s.Tell(t.Context(), told); err != nil {
			t.Fatal(err)
		}
	}
	if seq, err := s.FindTold(t.Context(), f.ID, h.ID, "job/a"); err != nil || seq != 7 {
		t.Errorf("%v: told to %d, want 7", err, seq)
	}
	if _, err := s.FindTold(t.Context(), f.ID, h.ID, "job/c"); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("%v, want ErrNotFound", err)
	}
	got, err := s.ListTold(t.Context(), f.ID, h.ID)
	if diff := gocmp.Diff(map[string]int64{"job/a": 7, "job/b": 1}, got); err != nil || diff != "" {
		t.Errorf("%v: %s", err, diff)
	}
}

func hookDeliveries(t *testing.T, s jobs.Store) {
	f := newFirm(t, s)
	h := newHook(t, f.ID)
	if err := s.CreateHook(t.Context(), h); err != nil {
		t.Fatal(err)
	}
	var last jobs.Delivery
	for i := range jobs.KeptDeliveries + 5 {
		last = jobs.Delivery{
			Firm: f.ID, ID: newID(t), Hook: h.ID, Delivery: newID(t), Subject: "job/a", Seq: int64(i), Happening: jobs.AnyEvent,
			At: start.Add(time.Duration(i) * time.Second), Status: 503, Took: 12 * time.Millisecond, Reason: fmt.Sprint("attempt ", i),
		}
		if err := s.AddDelivery(t.Context(), last); err != nil {
			t.Fatal(err)
		}
	}
	all, err := s.ListDeliveries(t.Context(), f.ID, h.ID)
	if err != nil || len(all) != jobs.KeptDeliveries {
		t.Fatalf("%v, %d are kept, want %d", err, len(all), jobs.KeptDeliveries)
	}
	if diff := gocmp.Diff(last, all[0]); diff != "" {
		t.Error(diff)
	}
}

// A hook that was deleted is forgotten whole; none of another firm is.
func hookDeleted(t *testing.T, s jobs.Store) {
	one, other := newFirm(t, s), newFirm(t, s)
	h := newHook(t, one.ID)
	theirs := h
	theirs.Firm = other.ID
	for _, each := range []jobs.Hook{h, theirs} {
		if err := s.CreateHook(t.Context(), each); err != nil {
			t.Fatal(err)
		}
		if err := s.Tell(t.Context(), jobs.Told{Firm: each.Firm, Hook: each.ID, Subject: "job/a", Seq: 1}); err != nil {
			t.Fatal(err)
		}
		if err := s.AddDelivery(t.Context(), jobs.Delivery{Firm: each.Firm, ID: newID(t), Hook: each.ID, At: start}); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.DeleteHook(t.Context(), one.ID, h.ID); err != nil {
		t.Fatal(err)
	}
	for name, err := range map[string]error{
		"DeleteHook":  s.DeleteHook(t.Context(), one.ID, h.ID),
		"MarkHook":    s.MarkHook(t.Context(), one.ID, h.ID, jobs.HookStanding{}),
		"Tell":        s.Tell(t.Context(), jobs.Told{Firm: one.ID, Hook: h.ID, Subject: "job/a", Seq: 2}),
		"AddDelivery": s.AddDelivery(t.Context(), jobs.Delivery{Firm: one.ID, ID: newID(t), Hook: h.ID, At: start}),
	} {
		if !errors.Is(err, events.ErrNotFound) {
			t.Errorf("%s of a hook that is gone: %v, want ErrNotFound", name, err)
		}
	}
	told, err := s.ListTold(t.Context(), other.ID, h.ID)
	kept, err2 := s.ListDeliveries(t.Context(), other.ID, h.ID)
	if err = errors.Join(err, err2); err != nil || told["job/a"] != 1 || len(kept) != 1 {
		t.Errorf("%v: another firm's hook of that id lost something: %v, %v", err, told, kept)
	}
}
