// Package jobstest holds what tests of other packages need of jobs: a Store in
// memory, and the suite that every Store passes.
package jobstest

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// Memory is a jobs.Store that forgets everything with the process.
type Memory struct {
	// Fail, if it is set, is asked before each call by its name, and again
	// with "after " before it once the call has taken effect. An error it
	// returns is the call's.
	Fail func(call string) error

	mu        sync.Mutex
	firms     map[events.ID]jobs.Firm
	tokens    map[key]jobs.Token
	revoked   map[key]time.Time
	pairings  map[events.Digest]jobs.Pairing
	tries     map[events.Digest]time.Time // when each is over
	people    map[key]jobs.Person
	crews     map[key]jobs.Crew
	jobs      map[key]jobs.Job
	profiles  map[key]jobs.Profile
	jacks     map[key]jobs.Jack
	lasers    map[key]jobs.Laser
	practices map[key]jobs.Practice
	closings  map[key]jobs.Closing
	calendars map[key]jobs.Calendar
	summaries map[key]jobs.Summary
	phones    map[key]jobs.Phone
	access
	hooksKept
	sharesKept
	books map[key]memBook
	packs map[key]jobs.Pack
}

type key struct{ firm, id events.ID }

// NewMemory returns an empty store.
func NewMemory() *Memory {
	return &Memory{
		firms:      map[events.ID]jobs.Firm{},
		tokens:     map[key]jobs.Token{},
		revoked:    map[key]time.Time{},
		pairings:   map[events.Digest]jobs.Pairing{},
		tries:      map[events.Digest]time.Time{},
		people:     map[key]jobs.Person{},
		crews:      map[key]jobs.Crew{},
		jobs:       map[key]jobs.Job{},
		profiles:   map[key]jobs.Profile{},
		jacks:      map[key]jobs.Jack{},
		lasers:     map[key]jobs.Laser{},
		practices:  map[key]jobs.Practice{},
		closings:   map[key]jobs.Closing{},
		calendars:  map[key]jobs.Calendar{},
		summaries:  map[key]jobs.Summary{},
		phones:     map[key]jobs.Phone{},
		access:     newAccess(),
		hooksKept:  newHooksKept(),
		sharesKept: newSharesKept(),
		books:      map[key]memBook{},
		packs:      map[key]jobs.Pack{},
	}
}

// call runs one method under the lock.
func (m *Memory) call(ctx context.Context, name string, f func() error) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("%w: %w", events.ErrUnavailable, err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.fail(name); err != nil {
		return err
	}
	if err := f(); err != nil {
		return err
	}
	return m.fail("after " + name)
}

func (m *Memory) fail(name string) error {
	if m.Fail == nil {
		return nil
	}
	return m.Fail(name)
}

// put keeps v unless something else is kept under that key.
func put[K comparable, V any](kept map[K]V, k K, v V, same func(kept, v V) bool) error {
	old, exists := kept[k]
	switch {
	case !exists:
		kept[k] = v
	case !same(old, v):
		return events.ErrConflict
	}
	return nil
}

func (m *Memory) needFirm(id events.ID) error {
	if _, ok := m.firms[id]; !ok {
		return events.ErrNotFound
	}
	return nil
}

// CreateFirm implements jobs.Firms.
func (m *Memory) CreateFirm(ctx context.Context, f jobs.Firm) error {
	return m.call(ctx, "CreateFirm", func() error {
		if f.ID.IsZero() {
			return events.ErrNotFound
		}
		f.Units = cmp.Or(f.Units, levelling.Millimetre)
		return put(m.firms, f.ID, f, func(a, b jobs.Firm) bool { return a.Name == b.Name && a.Words == b.Words })
	})
}

// UpdateFirm implements jobs.Firms.
func (m *Memory) UpdateFirm(ctx context.Context, f jobs.Firm) error {
	return m.call(ctx, "UpdateFirm", func() error {
		if err := m.needFirm(f.ID); err != nil {
			return err
		}
		f.CreatedAt, f.Units = m.firms[f.ID].CreatedAt, cmp.Or(f.Units, levelling.Millimetre)
		m.firms[f.ID] = f
		return nil
	})
}

// FindFirm implements jobs.Firms.
func (m *Memory) FindFirm(ctx context.Context, id events.ID) (f jobs.Firm, err error) {
	err = m.call(ctx, "FindFirm", func() error {
		f = m.firms[id]
		return m.needFirm(id)
	})
	return f, err
}

// CreateToken implements jobs.Tokens.
func (m *Memory) CreateToken(ctx context.Context, t jobs.Token) error {
	return m.call(ctx, "CreateToken", func() error {
		if err := m.needFirm(t.Firm); err != nil {
			return err
		}
		for k, kept := range m.tokens {
			if k.firm == t.Firm && kept.Hash == t.Hash && k.id != t.ID {
				return events.ErrConflict
			}
		}
		return put(m.tokens, key{t.Firm, t.ID}, t, func(a, b jobs.Token) bool {
			return a.Hash == b.Hash && a.Name == b.Name && a.Scope == b.Scope && a.Device == b.Device && a.Person == b.Person
		})
	})
}

// FindToken implements jobs.Tokens.
func (m *Memory) FindToken(ctx context.Context, firm events.ID, hash events.Digest) (t jobs.Token, err error) {
	err = m.call(ctx, "FindToken", func() error {
		for k, kept := range m.tokens {
			if k.firm == firm && kept.Hash == hash && m.revoked[k].IsZero() {
				t = kept
				return nil
			}
		}
		return events.ErrNotFound
	})
	return t, err
}

// RevokeToken implements jobs.Tokens.
func (m *Memory) RevokeToken(ctx context.Context, firm, id events.ID, at time.Time) error {
	return m.call(ctx, "RevokeToken", func() error {
		k := key{firm, id}
		if _, ok := m.tokens[k]; !ok {
			return events.ErrNotFound
		}
		if m.revoked[k].IsZero() {
			m.revoked[k] = at
		}
		return nil
	})
}

// ListTokens implements jobs.Tokens.
func (m *Memory) ListTokens(ctx context.Context, firm events.ID) (all []jobs.Token, err error) {
	err = m.call(ctx, "ListTokens", func() error {
		all = ofFirm(m.tokens, firm, func(a, b jobs.Token) int {
			return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), compareIDs(b.ID, a.ID))
		})
		for i, t := range all {
			all[i].RevokedAt = m.revoked[key{firm, t.ID}]
		}
		return nil
	})
	return all, err
}

// CreatePairing implements jobs.Pairings.
func (m *Memory) CreatePairing(ctx context.Context, p jobs.Pairing, now time.Time) error {
	return m.call(ctx, "CreatePairing", func() error {
		if err := m.needFirm(p.Firm); err != nil {
			return err
		}
		for hash, kept := range m.pairings {
			if !kept.ExpiresAt.After(now) {
				delete(m.pairings, hash)
			}
		}
		if _, there := m.pairings[p.Hash]; there {
			return events.ErrConflict
		}
		m.pairings[p.Hash] = p
		return nil
	})
}

// TakePairing implements jobs.Pairings.
func (m *Memory) TakePairing(ctx context.Context, hash events.Digest, now time.Time) (firm events.ID, err error) {
	err = m.call(ctx, "TakePairing", func() error {
		p, there := m.pairings[hash]
		delete(m.pairings, hash)
		if !there || !p.ExpiresAt.After(now) {
			return events.ErrNotFound
		}
		firm = p.Firm
		return nil
	})
	return firm, err
}

// CreatePerson implements jobs.People.
func (m *Memory) CreatePerson(ctx context.Context, p jobs.Person) error {
	return m.call(ctx, "CreatePerson", func() error {
		if err := m.needFirm(p.Firm); err != nil {
			return err
		}
		return put(m.people, key{p.Firm, p.ID}, p, func(a, b jobs.Person) bool { return a.Name == b.Name && a.Role == b.Role })
	})
}

// ListPeople implements jobs.People.
func (m *Memory) ListPeople(ctx context.Context, firm events.ID) (all []jobs.Person, err error) {
	err = m.call(ctx, "ListPeople", func() error {
		all = ofFirm(m.people, firm, func(a, b jobs.Person) int {
			return cmp.Or(strings.Compare(a.Name, b.Name), compareIDs(a.ID, b.ID))
		})
		return nil
	})
	return all, err
}

// CreateCrew implements jobs.People.
func (m *Memory) CreateCrew(ctx context.Context, c jobs.Crew) error {
	return m.call(ctx, "CreateCrew", func() error {
		if err := m.needFirm(c.Firm); err != nil {
			return err
		}
		return put(m.crews, key{c.Firm, c.ID}, c, func(a, b jobs.Crew) bool { return a == b })
	})
}

// ListCrews implements jobs.People.
func (m *Memory) ListCrews(ctx context.Context, firm events.ID) (all []jobs.Crew, err error) {
	err = m.call(ctx, "ListCrews", func() error {
		all = ofFirm(m.crews, firm, func(a, b jobs.Crew) int {
			return cmp.Or(strings.Compare(a.Name, b.Name), compareIDs(a.ID, b.ID))
		})
		return nil
	})
	return all, err
}

// CreateJob implements jobs.Jobs.
func (m *Memory) CreateJob(ctx context.Context, j jobs.Job) error {
	return m.call(ctx, "CreateJob", func() error {
		if err := m.needFirm(j.Firm); err != nil {
			return err
		}
		if _, ok := m.crews[key{j.Firm, j.Crew}]; !ok && !j.Crew.IsZero() {
			return events.ErrNotFound
		}
		j.ClosedAt, j.ClosedSeq, j.Revision = time.Time{}, 0, 0
		return put(m.jobs, key{j.Firm, j.ID}, j, jobs.Job.Same)
	})
}

// FindJob implements jobs.Jobs.
func (m *Memory) FindJob(ctx context.Context, firm, id events.ID) (j jobs.Job, err error) {
	err = m.call(ctx, "FindJob", func() error {
		var ok bool
		if j, ok = m.jobs[key{firm, id}]; !ok {
			return events.ErrNotFound
		}
		return nil
	})
	return j, err
}

// ListJobs implements jobs.Jobs.
func (m *Memory) ListJobs(ctx context.Context, firm events.ID) (all []jobs.Job, err error) {
	err = m.call(ctx, "ListJobs", func() error {
		all = ofFirm(m.jobs, firm, newestFirst)
		return nil
	})
	return all, err
}

func newestFirst(a, b jobs.Job) int {
	return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), compareIDs(a.ID, b.ID))
}

// CreateProfile implements jobs.Profiles.
func (m *Memory) CreateProfile(ctx context.Context, p jobs.Profile) error {
	return m.call(ctx, "CreateProfile", func() error {
		if err := m.needFirm(p.Firm); err != nil {
			return err
		}
		return put(m.profiles, key{p.Firm, p.ID}, p, jobs.Profile.Same)
	})
}

// ListProfiles implements jobs.Profiles.
func (m *Memory) ListProfiles(ctx context.Context, firm events.ID) (all []jobs.Profile, err error) {
	err = m.call(ctx, "ListProfiles", func() error {
		all = newestOf(m.profiles, firm, func(p jobs.Profile) named { return named{p.Name, p.CreatedAt, p.ID} })
		return nil
	})
	return all, err
}

// CreateJack implements jobs.Kit.
func (m *Memory) CreateJack(ctx context.Context, j jobs.Jack) error {
	return m.call(ctx, "CreateJack", func() error {
		if err := m.needFirm(j.Firm); err != nil {
			return err
		}
		return put(m.jacks, key{j.Firm, j.ID}, j, jobs.Jack.Same)
	})
}

// ListJacks implements jobs.Kit.
func (m *Memory) ListJacks(ctx context.Context, firm events.ID) (all []jobs.Jack, err error) {
	err = m.call(ctx, "ListJacks", func() error {
		all = newestOf(m.jacks, firm, func(j jobs.Jack) named { return named{j.Name, j.CreatedAt, j.ID} })
		return nil
	})
	return all, err
}

// CreateLaser implements jobs.Kit.
func (m *Memory) CreateLaser(ctx context.Context, l jobs.Laser) error {
	return m.call(ctx, "CreateLaser", func() error {
		if err := m.needFirm(l.Firm); err != nil {
			return err
		}
		return put(m.lasers, key{l.Firm, l.ID}, l, jobs.Laser.Same)
	})
}

// ListLasers implements jobs.Kit.
func (m *Memory) ListLasers(ctx context.Context, firm events.ID) (all []jobs.Laser, err error) {
	err = m.call(ctx, "ListLasers", func() error {
		all = newestOf(m.lasers, firm, func(l jobs.Laser) named { return named{l.Name, l.CreatedAt, l.ID} })
		return nil
	})
	return all, err
}

// CreatePractice implements jobs.Practices.
func (m *Memory) CreatePractice(ctx context.Context, p jobs.Practice) error {
	return m.call(ctx, "CreatePractice", func() error {
		if err := m.needFirm(p.Firm); err != nil {
			return err
		}
		return put(m.practices, key{p.Firm, p.ID}, p, jobs.Practice.Same)
	})
}

// FindPractice implements jobs.Practices.
func (m *Memory) FindPractice(ctx context.Context, firm events.ID) (p jobs.Practice, err error) {
	err = m.call(ctx, "FindPractice", func() error {
		p = jobs.Practice{Firm: firm}
		all := ofFirm(m.practices, firm, func(a, b jobs.Practice) int {
			return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), compareIDs(b.ID, a.ID))
		})
		if len(all) > 0 {
			p = all[0]
		}
		return nil
	})
	return p, err
}

// KitRecords implements jobs.Kit.
func (m *Memory) KitRecords(ctx context.Context, firm events.ID) (k jobs.KitRecords, err error) {
	err = m.call(ctx, "KitRecords", func() error {
		k.Jacks = recordsOf(m.jacks, firm, func(j jobs.Jack) named { return named{j.Name, j.CreatedAt, j.ID} })
		k.Lasers = recordsOf(m.lasers, firm, func(l jobs.Laser) named { return named{l.Name, l.CreatedAt, l.ID} })
		return nil
	})
	return k, err
}

// ofFirm returns what a firm has, in an order.
func ofFirm[V any](kept map[key]V, firm events.ID, order func(a, b V) int) []V {
	var all []V
	for k, v := range kept {
		if k.firm == firm {
			all = append(all, v)
		}
	}
	slices.SortFunc(all, order)
	return all
}

// named is what the newest of each name is found by.
type named struct {
	name string
	at   time.Time
	id   events.ID
}

// newestOf lists, by name, the newest of each name.
func newestOf[V any](kept map[key]V, firm events.ID, by func(V) named) []V {
	return slices.CompactFunc(recordsOf(kept, firm, by), func(a, b V) bool { return by(a).name == by(b).name })
}

// recordsOf lists all by name, the newest of each name first.
func recordsOf[V any](kept map[key]V, firm events.ID, by func(V) named) []V {
	return ofFirm(kept, firm, func(a, b V) int {
		x, y := by(a), by(b)
		return cmp.Or(strings.Compare(x.name, y.name), y.at.Compare(x.at), compareIDs(y.id, x.id))
	})
}

func compareIDs(a, b events.ID) int { return slices.Compare(a[:], b[:]) }
