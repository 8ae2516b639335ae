package jobstest

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"sync"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// sharesKept is what Memory keeps of shares.
type sharesKept struct {
	shares map[key]jobs.Share
	visits map[visitKey]jobs.ShareVisit
}

type visitKey struct {
	firm, share events.ID
	hash        events.Digest
}

func newSharesKept() sharesKept {
	return sharesKept{shares: map[key]jobs.Share{}, visits: map[visitKey]jobs.ShareVisit{}}
}

func sameShare(a, b jobs.Share) bool {
	return a.Hash == b.Hash && a.Job == b.Job && a.Name == b.Name && a.UpTo == b.UpTo && a.ExpiresAt.Equal(b.ExpiresAt)
}

// CreateShare implements jobs.Shares.
func (m *Memory) CreateShare(ctx context.Context, s jobs.Share) error {
	return m.call(ctx, "CreateShare", func() error {
		if _, ok := m.jobs[key{s.Firm, s.Job}]; !ok {
			return events.ErrNotFound
		}
		for k, kept := range m.shares {
			if k.firm == s.Firm && kept.Hash == s.Hash && k.id != s.ID {
				return events.ErrConflict
			}
		}
		return put(m.shares, key{s.Firm, s.ID}, s, sameShare)
	})
}

// OpenShare implements jobs.Shares.
func (m *Memory) OpenShare(ctx context.Context, firm, id events.ID, secret events.Digest, v jobs.ShareVisit) (s jobs.Share, err error) {
	err = m.call(ctx, "OpenShare", func() error {
		kept, ok := m.shares[key{firm, id}]
		if !ok || kept.Hash != secret {
			return events.ErrNotFound
		}
		if kept.OpenAt(v.Began) {
			kept.Opened++
			if v.Began.After(kept.OpenedAt) {
				kept.OpenedAt = v.Began
			}
			m.shares[key{firm, id}] = kept
			m.visits[visitKey{firm, id, v.Hash}] = v
		}
		maps.DeleteFunc(m.visits, func(k visitKey, old jobs.ShareVisit) bool {
			return k.firm == firm && k.share == id && !old.ExpiresAt.After(v.Began)
		})
		s = kept
		return nil
	})
	return s, err
}

// FindVisit implements jobs.Shares.
func (m *Memory) FindVisit(ctx context.Context, firm, share events.ID, visit events.Digest, at time.Time) (s jobs.Share, err error) {
	err = m.call(ctx, "FindVisit", func() error {
		v, ok := m.visits[visitKey{firm, share, visit}]
		if !ok || !v.ExpiresAt.After(at) {
			return events.ErrNotFound
		}
		s = m.shares[key{firm, share}]
		return nil
	})
	return s, err
}

// EndVisit implements jobs.Shares.
func (m *Memory) EndVisit(ctx context.Context, firm, share events.ID, visit events.Digest) error {
	return m.call(ctx, "EndVisit", func() error {
		delete(m.visits, visitKey{firm, share, visit})
		return nil
	})
}

// RevokeShare implements jobs.Shares.
func (m *Memory) RevokeShare(ctx context.Context, firm, job, id events.ID, at time.Time) error {
	return m.call(ctx, "RevokeShare", func() error {
		s, ok := m.shares[key{firm, id}]
		if !ok || s.Job != job {
			return events.ErrNotFound
		}
		if s.RevokedAt.IsZero() {
			s.RevokedAt = at
			m.shares[key{firm, id}] = s
		}
		return nil
	})
}

// ListShares implements jobs.Shares.
func (m *Memory) ListShares(ctx context.Context, firm, job events.ID) (all []jobs.Share, err error) {
	err = m.call(ctx, "ListShares", func() error {
		all = ofFirm(m.shares, firm, func(a, b jobs.Share) int { return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), compareIDs(b.ID, a.ID)) })
		all = slices.DeleteFunc(all, func(s jobs.Share) bool { return !job.IsZero() && s.Job != job })
		return nil
	})
	return all, err
}

// newShare makes a share of a new job, and its secret's hash from a number.
func newShare(t *testing.T, s jobs.Store, firm events.ID, secret byte) jobs.Share {
	t.Helper()
	j := newJob(t, firm)
	must(t, s.CreateJob(t.Context(), j))
	one := jobs.Share{Firm: firm, ID: newID(t), Job: j.ID, Hash: events.Digest{secret}, Name: "the owner", MadeBy: newID(t), CreatedAt: start, ExpiresAt: start.Add(jobs.ShareLasts)}
	must(t, s.CreateShare(t.Context(), one))
	return one
}

func visitAt(at time.Time, secret byte) jobs.ShareVisit {
	return jobs.ShareVisit{Hash: events.Digest{secret}, Began: at, ExpiresAt: at.Add(jobs.VisitLasts)}
}

func shareOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	first := newShare(t, s, firm, 1)
	second := first
	second.ID, second.Hash, second.UpTo, second.MadeBy, second.CreatedAt = newID(t), events.Digest{2}, 7, events.ID{}, start.Add(time.Hour)
	elsewhere := newShare(t, s, firm, 3)
	for _, one := range []jobs.Share{second, first} { // the second time it changes nothing
		must(t, s.CreateShare(t.Context(), one))
	}
	all, err := s.ListShares(t.Context(), firm, first.Job)
	want(t, "ListShares", all, err, []jobs.Share{second, first})
	all, err = s.ListShares(t.Context(), firm, events.ID{})
	want(t, "ListShares of the firm", len(all), err, 3)

	same := second
	same.ID = newID(t)
	wantErr(t, "CreateShare with a secret that is there", s.CreateShare(t.Context(), same), events.ErrConflict)
	longer := first
	longer.ExpiresAt = longer.ExpiresAt.Add(time.Hour)
	wantErr(t, "CreateShare of other content", s.CreateShare(t.Context(), longer), events.ErrConflict)
	jobless := first
	jobless.ID, jobless.Hash, jobless.Job = newID(t), events.Digest{4}, newID(t)
	wantErr(t, "CreateShare of no job", s.CreateShare(t.Context(), jobless), events.ErrNotFound)

	wantErr(t, "RevokeShare under another job", s.RevokeShare(t.Context(), firm, elsewhere.Job, first.ID, start), events.ErrNotFound)
	must(t, s.RevokeShare(t.Context(), firm, first.Job, first.ID, start.Add(time.Hour)))
	must(t, s.RevokeShare(t.Context(), firm, first.Job, first.ID, start.Add(2*time.Hour)))
	first.RevokedAt = start.Add(time.Hour)
	all, err = s.ListShares(t.Context(), firm, first.Job)
	want(t, "ListShares after one is over", all, err, []jobs.Share{second, first})
}

func shareOpened(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	one, other := newShare(t, s, firm, 1), newShare(t, s, firm, 2)
	later := start.Add(time.Hour)
	opened, err := s.OpenShare(t.Context(), firm, one.ID, one.Hash, visitAt(later, 9))
	one.Opened, one.OpenedAt = 1, later
	want(t, "OpenShare", opened, err, one)
	_, err = s.OpenShare(t.Context(), firm, one.ID, one.Hash, visitAt(start, 8)) // came late
	must(t, err)
	one.Opened = 2

	found, err := s.FindVisit(t.Context(), firm, one.ID, events.Digest{9}, later)
	want(t, "FindVisit", found, err, one)
	for what, at := range map[string]struct {
		share  events.ID
		secret events.Digest
		when   time.Time
	}{
		"of another share":      {other.ID, events.Digest{9}, later},
		"by the share's secret": {one.ID, one.Hash, later},
		"whose time is over":    {one.ID, events.Digest{9}, later.Add(jobs.VisitLasts)},
	} {
		_, err := s.FindVisit(t.Context(), firm, at.share, at.secret, at.when)
		wantErr(t, "FindVisit "+what, err, events.ErrNotFound)
	}
	for what, open := range map[string]struct {
		share  events.ID
		secret events.Digest
	}{"with another's secret": {one.ID, other.Hash}, "of none": {newID(t), one.Hash}, "by the visit's secret": {one.ID, events.Digest{9}}} {
		_, err := s.OpenShare(t.Context(), firm, open.share, open.secret, visitAt(later, 7))
		wantErr(t, "OpenShare "+what, err, events.ErrNotFound)
	}
	all, err := s.ListShares(t.Context(), firm, one.Job)
	want(t, "ListShares", all, err, []jobs.Share{one})

	must(t, s.EndVisit(t.Context(), firm, one.ID, events.Digest{9}))
	must(t, s.EndVisit(t.Context(), firm, one.ID, events.Digest{9}))
	_, err = s.FindVisit(t.Context(), firm, one.ID, events.Digest{9}, later)
	wantErr(t, "FindVisit of one that was ended", err, events.ErrNotFound)
}

// Who has the secret is told that a share is over; nothing is counted then.
func shareOver(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	one := newShare(t, s, firm, 1)
	_, err := s.OpenShare(t.Context(), firm, one.ID, one.Hash, visitAt(start, 9))
	must(t, err)
	one.Opened, one.OpenedAt = 1, start

	got, err := s.OpenShare(t.Context(), firm, one.ID, one.Hash, visitAt(one.ExpiresAt, 8))
	want(t, "OpenShare past its time", got, err, one)
	_, err = s.FindVisit(t.Context(), firm, one.ID, events.Digest{8}, one.ExpiresAt)
	wantErr(t, "FindVisit of one that never began", err, events.ErrNotFound)

	must(t, s.RevokeShare(t.Context(), firm, one.Job, one.ID, start.Add(time.Hour)))
	one.RevokedAt = start.Add(time.Hour)
	got, err = s.OpenShare(t.Context(), firm, one.ID, one.Hash, visitAt(start.Add(2*time.Hour), 7))
	want(t, "OpenShare of one that was revoked", got, err, one)
	_, err = s.OpenShare(t.Context(), firm, one.ID, events.Digest{6}, visitAt(start.Add(2*time.Hour), 7))
	wantErr(t, "OpenShare of one that was revoked, with another secret", err, events.ErrNotFound)
}

func sharesApart(t *testing.T, s jobs.Store) {
	ours, theirs := newFirm(t, s).ID, newFirm(t, s).ID
	one := newShare(t, s, theirs, 1)
	_, err := s.OpenShare(t.Context(), theirs, one.ID, one.Hash, visitAt(start, 9))
	must(t, err)
	_, err = s.OpenShare(t.Context(), ours, one.ID, one.Hash, visitAt(start, 8))
	wantErr(t, "OpenShare of another firm's", err, events.ErrNotFound)
	_, err = s.FindVisit(t.Context(), ours, one.ID, events.Digest{9}, start)
	wantErr(t, "FindVisit of another firm's", err, events.ErrNotFound)
	wantErr(t, "RevokeShare of another firm's", s.RevokeShare(t.Context(), ours, one.Job, one.ID, start), events.ErrNotFound)
	must(t, s.EndVisit(t.Context(), ours, one.ID, events.Digest{9}))
	_, err = s.FindVisit(t.Context(), theirs, one.ID, events.Digest{9}, start)
	must(t, err)
	all, err := s.ListShares(t.Context(), ours, events.ID{})
	want(t, "ListShares of another firm", len(all), err, 0)
	foreign := one
	foreign.Firm, foreign.ID = ours, newID(t)
	wantErr(t, "CreateShare of another firm's job", s.CreateShare(t.Context(), foreign), events.ErrNotFound)
	same := newShare(t, s, ours, 2)
	same.ID, same.Hash = one.ID, one.Hash // of two firms they are two
	must(t, s.CreateShare(t.Context(), same))
	must(t, s.RevokeShare(t.Context(), ours, same.Job, same.ID, start))
	all, err = s.ListShares(t.Context(), theirs, one.Job)
	must(t, err)
	if len(all) != 1 || !all[0].RevokedAt.IsZero() {
		t.Errorf("another firm's share of the same id changed this one: %+v", all)
	}
	_, err = s.OpenShare(t.Context(), events.ID{}, one.ID, one.Hash, visitAt(start, 7))
	wantErr(t, "OpenShare of no firm", err, events.ErrNotFound)
}

// However many open a share at once, each is counted.
func shareAtOnce(t *testing.T, s jobs.Store) {
	one := newShare(t, s, newFirm(t, s).ID, 1)
	const many = 8
	var wg sync.WaitGroup
	for i := range many {
		wg.Go(func() {
			if _, err := s.OpenShare(t.Context(), one.Firm, one.ID, one.Hash, visitAt(start, byte(10+i))); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	all, err := s.ListShares(t.Context(), one.Firm, one.Job)
	must(t, err)
	want(t, "how often it was opened", all[0].Opened, nil, many)
}
