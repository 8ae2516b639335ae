package jobstest

import (
	"context"
	"slices"
	"sync"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// HearPhone implements jobs.Phones.
func (m *Memory) HearPhone(ctx context.Context, h jobs.Heard) error {
	return m.call(ctx, "HearPhone", func() error {
		return m.changePhone(h.Firm, h.Device, h.At, func(p *jobs.Phone) { p.Seen = p.Seen.With(h.Seen) })
	})
}

// SavePhoneReport implements jobs.Phones.
func (m *Memory) SavePhoneReport(ctx context.Context, firm, device events.ID, r jobs.PhoneReport) error {
	return m.call(ctx, "SavePhoneReport", func() error {
		return m.changePhone(firm, device, r.At, func(p *jobs.Phone) { p.Report = &r })
	})
}

func (m *Memory) changePhone(firm, device events.ID, at time.Time, change func(*jobs.Phone)) error {
	if firm.IsZero() {
		return events.ErrNotFound
	}
	p, ok := m.phones[key{firm, device}]
	if !ok {
		p = jobs.Phone{Firm: firm, Device: device}
	}
	if at.After(p.HeardAt) {
		p.HeardAt = at
	}
	change(&p)
	m.phones[key{firm, device}] = p
	return nil
}

// ListPhones implements jobs.Phones.
func (m *Memory) ListPhones(ctx context.Context, firm events.ID) (all []jobs.Phone, err error) {
	err = m.call(ctx, "ListPhones", func() error {
		all = ofFirm(m.phones, firm, func(a, b jobs.Phone) int { return compareIDs(a.Device, b.Device) })
		return nil
	})
	return all, err
}

// phoneHeard hears of a device in any order, some of it twice.
func phoneHeard(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	one, other := newID(t), newID(t)
	hear := func(device events.ID, at time.Time, numbers ...int64) {
		t.Helper()
		must(t, s.HearPhone(t.Context(), jobs.Heard{Firm: firm, Device: device, Seen: jobs.NumbersOf(numbers...), At: at}))
	}
	hear(one, start.Add(time.Minute), 7, 8, 1<<53-1)
	hear(one, start, 1, 2, 3)
	hear(one, start, 2, 3, 4)
	hear(one, start)
	hear(other, start.Add(time.Hour)) // it asked for something and sent nothing
	want := []jobs.Phone{
		{Firm: firm, Device: one, Seen: jobs.Numbers{{1, 4}, {7, 8}, {1<<53 - 1, 1<<53 - 1}}, HeardAt: start.Add(time.Minute)},
		{Firm: firm, Device: other, HeardAt: start.Add(time.Hour)},
	}
	wantPhones(t, s, firm, want)
	wantErr(t, "HearPhone of nobody", s.HearPhone(t.Context(), jobs.Heard{Device: one, At: start}), events.ErrNotFound)
}

func wantPhones(t *testing.T, s jobs.Store, firm events.ID, phones []jobs.Phone) {
	t.Helper()
	slices.SortFunc(phones, func(a, b jobs.Phone) int { return compareIDs(a.Device, b.Device) })
	got, err := s.ListPhones(t.Context(), firm)
	want(t, "ListPhones", got, err, phones)
}

// phoneReported keeps the report that came last, whatever is heard beside it.
func phoneReported(t *testing.T, s jobs.Store) {
	firm, device, kept := newFirm(t, s).ID, newID(t), true
	first := jobs.PhoneReport{Version: "1.0", Unsent: 2, OldestUnsentAt: start, Photos: 5, Persisted: &kept, StorageUsed: 1 << 40, StorageQuota: 1 << 41, At: start.Add(time.Minute)}
	must(t, s.SavePhoneReport(t.Context(), firm, device, first))
	wantPhones(t, s, firm, []jobs.Phone{{Firm: firm, Device: device, HeardAt: first.At, Report: &first}})
	last := jobs.PhoneReport{Version: "1.1", At: start.Add(time.Hour)}
	must(t, s.HearPhone(t.Context(), jobs.Heard{Firm: firm, Device: device, Seen: jobs.NumbersOf(1), At: start}))
	must(t, s.SavePhoneReport(t.Context(), firm, device, last))
	must(t, s.HearPhone(t.Context(), jobs.Heard{Firm: firm, Device: device, Seen: jobs.NumbersOf(2), At: start}))
	wantPhones(t, s, firm, []jobs.Phone{{Firm: firm, Device: device, Seen: jobs.Numbers{{1, 2}}, HeardAt: last.At, Report: &last}})
	wantErr(t, "SavePhoneReport of nobody", s.SavePhoneReport(t.Context(), events.ID{}, device, last), events.ErrNotFound)
}

// phoneAtOnce loses nothing of what several servers heard at the same time.
func phoneAtOnce(t *testing.T, s jobs.Store) {
	firm, device := newFirm(t, s).ID, newID(t)
	var all sync.WaitGroup
	for n := range int64(8) {
		all.Go(func() {
			if err := s.HearPhone(t.Context(), jobs.Heard{Firm: firm, Device: device, Seen: jobs.NumbersOf(n + 1), At: start}); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	wantPhones(t, s, firm, []jobs.Phone{{Firm: firm, Device: device, Seen: jobs.Numbers{{1, 8}}, HeardAt: start}})
}
