package jobstest

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"sync"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// AskPack implements jobs.Packs.
func (m *Memory) AskPack(ctx context.Context, p jobs.Pack) (now jobs.Pack, asked bool, err error) {
	err = m.call(ctx, "AskPack", func() error {
		if _, ok := m.jobs[key{p.Firm, p.Job}]; !ok {
			return events.ErrNotFound
		}
		for k, kept := range m.packs {
			if k.firm != p.Firm || kept.Job != p.Job || kept.Paper != p.Paper || kept.UpTo != p.UpTo || kept.Basis != p.Basis {
				continue
			}
			if asked = kept.Failed != ""; asked {
				kept.PackStanding, kept.Asked = jobs.PackStanding{}, p.Asked
				m.packs[k] = kept
			}
			now = kept
			return nil
		}
		p.PackStanding = jobs.PackStanding{}
		m.packs[key{p.Firm, p.ID}] = p
		now, asked = p, true
		return nil
	})
	return now, asked, err
}

// FindPack implements jobs.Packs.
func (m *Memory) FindPack(ctx context.Context, firm, id events.ID) (p jobs.Pack, err error) {
	err = m.call(ctx, "FindPack", func() error {
		var ok bool
		if p, ok = m.packs[key{firm, id}]; !ok {
			return events.ErrNotFound
		}
		return nil
	})
	return p, err
}

// ListPacks implements jobs.Packs.
func (m *Memory) ListPacks(ctx context.Context, firm, job events.ID) (all []jobs.Pack, err error) {
	err = m.call(ctx, "ListPacks", func() error {
		all = m.packsOf(firm, job)
		return nil
	})
	return all, err
}

// packsOf are those of a job, the newest first.
func (m *Memory) packsOf(firm, job events.ID) []jobs.Pack {
	all := ofFirm(m.packs, firm, func(a, b jobs.Pack) int { return cmp.Or(b.Asked.Compare(a.Asked), compareIDs(b.ID, a.ID)) })
	return slices.DeleteFunc(all, func(p jobs.Pack) bool { return p.Job != job })
}

// MarkPack implements jobs.Packs.
func (m *Memory) MarkPack(ctx context.Context, firm, id events.ID, s jobs.PackStanding) error {
	return m.call(ctx, "MarkPack", func() error {
		p, ok := m.packs[key{firm, id}]
		if !ok {
			return events.ErrNotFound
		}
		if !p.Ready() {
			p.PackStanding = s
			m.packs[key{firm, id}] = p
		}
		return nil
	})
}

// ForgetPacks implements jobs.Packs.
func (m *Memory) ForgetPacks(ctx context.Context, firm, job events.ID, keep int) (gone []jobs.Pack, err error) {
	err = m.call(ctx, "ForgetPacks", func() error {
		done := map[string]int{} // by paper
		for _, p := range m.packsOf(firm, job) {
			if p.Waits() {
				continue
			}
			if done[p.Paper]++; done[p.Paper] > keep {
				gone = append(gone, p)
				delete(m.packs, key{firm, p.ID})
			}
		}
		return nil
	})
	return gone, err
}

func newPack(t *testing.T, s jobs.Store) jobs.Pack {
	t.Helper()
	j := newJob(t, newFirm(t, s).ID)
	must(t, s.CreateJob(t.Context(), j))
	return jobs.Pack{Firm: j.Firm, ID: newID(t), Job: j.ID, Paper: "A4", UpTo: 12, Basis: events.Digest{1, 2}, Asked: start}
}

// askPack asks for a pack and wants to be told whether it is to be made.
func askPack(t *testing.T, s jobs.Store, p jobs.Pack, asked bool) jobs.Pack {
	t.Helper()
	now, got, err := s.AskPack(t.Context(), p)
	if err != nil || got != asked {
		t.Fatalf("%v: to be made: %v, want %v", err, got, asked)
	}
	return now
}

var madePack = jobs.PackStanding{Page: 40, Pages: 40, Made: start.Add(time.Minute), File: events.Digest{9}, Bytes: 1 << 33}

// The same is asked for once, however often; another cut-off, paper or basis is
// another pack.
func packOK(t *testing.T, s jobs.Store) {
	p := newPack(t, s)
	askPack(t, s, p, true)
	again := p
	again.ID, again.Asked = newID(t), start.Add(time.Hour)
	if now := askPack(t, s, again, false); now.ID != p.ID {
		t.Errorf("the same pack has another id")
	}
	later := p
	later.ID, later.UpTo, later.Asked = newID(t), 13, start.Add(time.Second)
	askPack(t, s, later, true)
	must(t, s.MarkPack(t.Context(), p.Firm, p.ID, jobs.PackStanding{Page: 3, Pages: 40}))
	p.PackStanding = madePack
	must(t, s.MarkPack(t.Context(), p.Firm, p.ID, madePack))
	must(t, s.MarkPack(t.Context(), p.Firm, p.ID, jobs.PackStanding{Page: 7, Pages: 40, Failed: "too late"})) // by one who is slow
	got, err := s.FindPack(t.Context(), p.Firm, p.ID)
	if diff := gocmp.Diff(p, got); err != nil || diff != "" {
		t.Errorf("%v: %s", err, diff)
	}
	askPack(t, s, again, false)
	all, err := s.ListPacks(t.Context(), p.Firm, p.Job)
	if diff := gocmp.Diff([]jobs.Pack{later, p}, all); err != nil || diff != "" {
		t.Errorf("%v: %s", err, diff)
	}
}

// One that failed waits again when it is asked for, and not before.
func packFailed(t *testing.T, s jobs.Store) {
	p := newPack(t, s)
	askPack(t, s, p, true)
	must(t, s.MarkPack(t.Context(), p.Firm, p.ID, jobs.PackStanding{Page: 2, Pages: 5, Failed: "The photos could not be read."}))
	if got, err := s.FindPack(t.Context(), p.Firm, p.ID); err != nil || got.Waits() || got.Ready() {
		t.Errorf("%v: %+v, want one that failed", err, got)
	}
	again := p
	again.ID, again.Asked = newID(t), start.Add(time.Hour)
	now := askPack(t, s, again, true)
	if now.ID != p.ID || !now.Waits() || now.Page != 0 || !now.Asked.Equal(again.Asked) {
		t.Errorf("%+v, want the same, waiting", now)
	}
}

// Of many who ask at once one is told to make it.
func packAtOnce(t *testing.T, s jobs.Store) {
	p := newPack(t, s)
	const n = 8
	asked, ids := make([]bool, n), make([]events.ID, n)
	errs := make([]error, n)
	var all sync.WaitGroup
	for i := range n {
		mine := p
		mine.ID = newID(t)
		all.Go(func() {
			var now jobs.Pack
			now, asked[i], errs[i] = s.AskPack(t.Context(), mine)
			ids[i] = now.ID
		})
	}
	all.Wait()
	makers := 0
	for i := range n {
		if asked[i] {
			makers++
		}
		if errs[i] != nil || ids[i] != ids[0] {
			t.Errorf("%v: %s, and another has %s", errs[i], ids[i], ids[0])
		}
	}
	if makers != 1 {
		t.Errorf("%d are to make it", makers)
	}
}

// What is forgotten are the older ones that nobody waits for.
func packsForgotten(t *testing.T, s jobs.Store) {
	p := newPack(t, s)
	var made []jobs.Pack
	for i := range 5 {
		one := p
		one.ID, one.UpTo, one.Asked = newID(t), int64(i), start.Add(time.Duration(i)*time.Second)
		askPack(t, s, one, true)
		if i > 0 { // the oldest waits still
			must(t, s.MarkPack(t.Context(), one.Firm, one.ID, madePack))
			one.PackStanding = madePack
		}
		made = append(made, one)
	}
	letter := p
	letter.ID, letter.Paper = newID(t), "Letter"
	askPack(t, s, letter, true)
	must(t, s.MarkPack(t.Context(), letter.Firm, letter.ID, madePack))
	gone, err := s.ForgetPacks(t.Context(), p.Firm, p.Job, 2)
	slices.SortFunc(gone, func(a, b jobs.Pack) int { return cmp.Compare(a.UpTo, b.UpTo) })
	if diff := gocmp.Diff(made[1:3], gone); err != nil || diff != "" {
		t.Errorf("%v: %s", err, diff)
	}
	left, err := s.ListPacks(t.Context(), p.Firm, p.Job)
	if err != nil || len(left) != 4 {
		t.Errorf("%v: %d are left, want 4", err, len(left))
	}
}

// A pack is of its firm alone, and of a job that is there.
func packsApart(t *testing.T, s jobs.Store) {
	p, other := newPack(t, s), newPack(t, s)
	askPack(t, s, p, true)
	stranger := p
	stranger.Firm, stranger.ID = other.Firm, newID(t)
	if _, _, err := s.AskPack(t.Context(), stranger); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("a pack of another firm's job: %v, want ErrNotFound", err)
	}
	if _, err := s.FindPack(t.Context(), other.Firm, p.ID); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("another firm's pack: %v, want ErrNotFound", err)
	}
	if err := s.MarkPack(t.Context(), other.Firm, p.ID, madePack); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("marking another firm's: %v, want ErrNotFound", err)
	}
	if gone, err := s.ForgetPacks(t.Context(), other.Firm, p.Job, 0); err != nil || len(gone) > 0 {
		t.Errorf("%v: %d of another firm were forgotten", err, len(gone))
	}
}
