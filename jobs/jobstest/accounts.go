package jobstest

import (
	"cmp"
	"context"
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// access is what a Memory keeps of how people sign in.
type access struct {
	signIns     map[nameKey]jobs.Salt
	accounts    map[key]jobs.Account // by person
	sessions    map[key]jobs.Session
	ended       map[key]time.Time
	invitations map[key]jobs.Invitation
	closed      map[key]bool
	passkeys    map[key]jobs.Passkey
	challenges  map[events.Digest]jobs.Challenge
	traces      map[key]jobs.Trace
}

type nameKey struct {
	name events.Digest
	firm events.ID
}

func newAccess() access {
	return access{
		signIns:     map[nameKey]jobs.Salt{},
		accounts:    map[key]jobs.Account{},
		sessions:    map[key]jobs.Session{},
		ended:       map[key]time.Time{},
		invitations: map[key]jobs.Invitation{},
		closed:      map[key]bool{},
		passkeys:    map[key]jobs.Passkey{},
		challenges:  map[events.Digest]jobs.Challenge{},
		traces:      map[key]jobs.Trace{},
	}
}

// ClaimName implements jobs.Accounts.
func (m *Memory) ClaimName(ctx context.Context, name events.Digest, firm events.ID, fresh jobs.Salt) (salt jobs.Salt, err error) {
	err = m.call(ctx, "ClaimName", func() error {
		if err := m.needFirm(firm); err != nil {
			return err
		}
		salt = fresh
		for k, kept := range m.signIns {
			if k.name == name {
				salt = kept
			}
		}
		m.signIns[nameKey{name, firm}] = salt
		return nil
	})
	return salt, err
}

// FindName implements jobs.Accounts.
func (m *Memory) FindName(ctx context.Context, name events.Digest) (all []jobs.SignIn, err error) {
	err = m.call(ctx, "FindName", func() error {
		for k, salt := range m.signIns {
			if k.name == name {
				all = append(all, jobs.SignIn{Firm: k.firm, Salt: salt})
			}
		}
		slices.SortFunc(all, func(a, b jobs.SignIn) int { return compareIDs(a.Firm, b.Firm) })
		return nil
	})
	return all, err
}

// SaveAccount implements jobs.Accounts.
func (m *Memory) SaveAccount(ctx context.Context, a jobs.Account, except events.ID, at time.Time) error {
	return m.call(ctx, "SaveAccount", func() error { return m.saveAccount(a, except, at) })
}

func (m *Memory) saveAccount(a jobs.Account, except events.ID, at time.Time) error {
	k := key{a.Firm, a.Person}
	if !m.worksHere(k) {
		return events.ErrNotFound
	}
	for of, other := range m.accounts {
		if of.firm == a.Firm && of.id != a.Person && other.Name == a.Name {
			return events.ErrConflict
		}
	}
	if old, there := m.accounts[k]; there {
		a.CreatedAt = old.CreatedAt
		if old.Name != a.Name {
			delete(m.signIns, nameKey{old.NameHash(), a.Firm})
		}
	}
	m.accounts[k] = a
	m.endSessions(k, except, at)
	m.closeInvitations(func(i jobs.Invitation) bool { return i.Firm == a.Firm && i.Person == a.Person })
	return nil
}

// worksHere reports whether a person is there and has not left.
func (m *Memory) worksHere(k key) bool {
	p, there := m.people[k]
	return there && p.LeftAt.IsZero()
}

// FindAccount implements jobs.Accounts.
func (m *Memory) FindAccount(ctx context.Context, firm, person events.ID) (a jobs.Account, err error) {
	err = m.call(ctx, "FindAccount", func() error {
		var there bool
		a, there = m.accounts[key{firm, person}]
		return orMissing(there)
	})
	return a, err
}

// FindAccountByName implements jobs.Accounts.
func (m *Memory) FindAccountByName(ctx context.Context, firm events.ID, name events.Digest) (a jobs.Account, err error) {
	err = m.call(ctx, "FindAccountByName", func() error {
		for k, kept := range m.accounts {
			if k.firm == firm && kept.NameHash() == name {
				a = kept
				return nil
			}
		}
		return events.ErrNotFound
	})
	return a, err
}

// ListAccounts implements jobs.Accounts.
func (m *Memory) ListAccounts(ctx context.Context, firm events.ID) (all []jobs.Account, err error) {
	err = m.call(ctx, "ListAccounts", func() error {
		all = ofFirm(m.accounts, firm, func(a, b jobs.Account) int { return compareIDs(a.Person, b.Person) })
		return nil
	})
	return all, err
}

// NameFirm implements jobs.Firms.
func (m *Memory) NameFirm(ctx context.Context, f jobs.Firm) error {
	return m.call(ctx, "NameFirm", func() error { return m.nameFirm(f) })
}

func (m *Memory) nameFirm(f jobs.Firm) error {
	if err := m.needFirm(f.ID); err != nil {
		return err
	}
	kept := m.firms[f.ID]
	kept.Name, kept.Words = f.Name, f.Words
	m.firms[f.ID] = kept
	return nil
}

// FindPerson implements jobs.People.
func (m *Memory) FindPerson(ctx context.Context, firm, id events.ID) (p jobs.Person, err error) {
	err = m.call(ctx, "FindPerson", func() error {
		var there bool
		p, there = m.people[key{firm, id}]
		return orMissing(there)
	})
	return p, err
}

// ChangeRole implements jobs.People.
func (m *Memory) ChangeRole(ctx context.Context, firm, id events.ID, role jobs.Role, at time.Time) error {
	return m.changePerson(ctx, "ChangeRole", key{firm, id}, func(p *jobs.Person) {
		p.Role = role
		if role != jobs.Office {
			m.revokeTokensOf(key{firm, id}, at)
		}
	})
}

func (m *Memory) revokeTokensOf(person key, at time.Time) {
	for of, t := range m.tokens {
		if of.firm == person.firm && t.Person == person.id && m.revoked[of].IsZero() {
			m.revoked[of] = at
		}
	}
}

// ReturnToFirm implements jobs.People.
func (m *Memory) ReturnToFirm(ctx context.Context, firm, id events.ID) error {
	return m.changePerson(ctx, "ReturnToFirm", key{firm, id}, func(p *jobs.Person) { p.LeftAt = time.Time{} })
}

// LeaveFirm implements jobs.People.
func (m *Memory) LeaveFirm(ctx context.Context, firm, id events.ID, at time.Time) error {
	k := key{firm, id}
	return m.changePerson(ctx, "LeaveFirm", k, func(p *jobs.Person) {
		if p.LeftAt.IsZero() {
			p.LeftAt = at
		}
		m.endSessions(k, events.ID{}, at)
		m.revokeTokensOf(k, at)
		m.closeInvitations(func(i jobs.Invitation) bool { return i.Firm == firm && i.Person == id })
		for of, one := range m.passkeys {
			if of.firm == firm && one.Person == id {
				delete(m.passkeys, of)
			}
		}
		delete(m.signIns, nameKey{m.accounts[k].NameHash(), firm})
		delete(m.accounts, k)
	})
}

func (m *Memory) changePerson(ctx context.Context, call string, k key, change func(*jobs.Person)) error {
	return m.call(ctx, call, func() error {
		p, there := m.people[k]
		if there {
			change(&p)
			m.people[k] = p
		}
		return orMissing(there)
	})
}

func orMissing(there bool) error {
	if !there {
		return events.ErrNotFound
	}
	return nil
}

// AppendTraces implements jobs.Trails.
func (m *Memory) AppendTraces(ctx context.Context, firm events.ID, all []jobs.Trace) error {
	return m.call(ctx, "AppendTraces", func() error {
		for _, t := range all {
			if _, there := m.traces[key{firm, t.ID}]; !there {
				m.traces[key{firm, t.ID}] = t
			}
		}
		return orMissing(!firm.IsZero())
	})
}

// ListTraces implements jobs.Trails.
func (m *Memory) ListTraces(ctx context.Context, firm events.ID, f jobs.TraceFilter) (some []jobs.Trace, err error) {
	err = m.call(ctx, "ListTraces", func() error {
		newest := func(a, b jobs.Trace) int { return cmp.Or(b.At.Compare(a.At), compareIDs(b.ID, a.ID)) }
		for _, t := range ofFirm(m.traces, firm, newest) {
			if len(some) < f.Limit && passes(t, f) && (f.After.At.IsZero() || newest(f.After, t) < 0) {
				some = append(some, t)
			}
		}
		return nil
	})
	return some, err
}

func passes(t jobs.Trace, f jobs.TraceFilter) bool {
	return (f.What == "" || f.What == t.What) && (f.Who.IsZero() || f.Who == t.By || f.Who == t.About) && (f.Job.IsZero() || f.Job == t.Job) &&
		(f.Since.IsZero() || !t.At.Before(f.Since)) && (f.Until.IsZero() || t.At.Before(f.Until))
}
