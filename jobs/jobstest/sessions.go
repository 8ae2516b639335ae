package jobstest

import (
	"cmp"
	"context"
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// CreateSession implements jobs.Sessions.
func (m *Memory) CreateSession(ctx context.Context, s jobs.Session, password string) error {
	return m.call(ctx, "CreateSession", func() error {
		_, hasToken := m.tokens[key{s.Firm, s.Token}]
		if (!s.Person.IsZero() && !m.worksHere(key{s.Firm, s.Person})) || (!s.Token.IsZero() && !hasToken) {
			return events.ErrNotFound
		}
		if password != "" && m.accounts[key{s.Firm, s.Person}].Password != password {
			return events.ErrNotFound
		}
		m.sessions[key{s.Firm, s.ID}] = s
		return nil
	})
}

// FindSession implements jobs.Sessions.
func (m *Memory) FindSession(ctx context.Context, firm events.ID, hash events.Digest, at time.Time) (sitting jobs.Sitting, err error) {
	err = m.call(ctx, "FindSession", func() error {
		for k, s := range m.sessions {
			if k.firm != firm || s.Hash != hash || !m.isOpen(k, at) {
				continue
			}
			sitting = jobs.Sitting{Session: s, Person: m.people[key{firm, s.Person}], Token: m.tokenNamed(key{firm, s.Token})}
			return orMissing(sitting.Person.LeftAt.IsZero() && m.revoked[key{firm, s.Token}].IsZero())
		}
		return events.ErrNotFound
	})
	if err != nil {
		return jobs.Sitting{}, err
	}
	return sitting, nil
}

// tokenNamed is what a sitting tells of a token.
func (m *Memory) tokenNamed(k key) jobs.Token {
	t, there := m.tokens[k]
	if !there {
		return jobs.Token{}
	}
	return jobs.Token{Firm: t.Firm, ID: t.ID, Name: t.Name, Scope: t.Scope, CreatedAt: t.CreatedAt}
}

func (m *Memory) isOpen(k key, at time.Time) bool {
	return m.ended[k].IsZero() && m.sessions[k].ExpiresAt.After(at)
}

// SeeSession implements jobs.Sessions.
func (m *Memory) SeeSession(ctx context.Context, firm, id events.ID, at time.Time) error {
	return m.call(ctx, "SeeSession", func() error {
		if s, there := m.sessions[key{firm, id}]; there && at.After(s.SeenAt) {
			s.SeenAt = at
			m.sessions[key{firm, id}] = s
		}
		return nil
	})
}

// EndSession implements jobs.Sessions.
func (m *Memory) EndSession(ctx context.Context, firm, person, id events.ID, at time.Time) error {
	return m.call(ctx, "EndSession", func() error {
		k := key{firm, id}
		s, there := m.sessions[k]
		if !there || s.Person != person {
			return events.ErrNotFound
		}
		if m.ended[k].IsZero() {
			m.ended[k] = at
		}
		return nil
	})
}

// EndSessions implements jobs.Sessions.
func (m *Memory) EndSessions(ctx context.Context, firm, person, except events.ID, at time.Time) error {
	return m.call(ctx, "EndSessions", func() error {
		m.endSessions(key{firm, person}, except, at)
		return nil
	})
}

func (m *Memory) endSessions(person key, except events.ID, at time.Time) {
	for k, s := range m.sessions {
		if k.firm == person.firm && s.Person == person.id && k.id != except && m.ended[k].IsZero() {
			m.ended[k] = at
		}
	}
}

// ListSessions implements jobs.Sessions.
func (m *Memory) ListSessions(ctx context.Context, firm, person events.ID, at time.Time) (all []jobs.Session, err error) {
	err = m.call(ctx, "ListSessions", func() error {
		all = ofFirm(m.sessions, firm, func(a, b jobs.Session) int {
			return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), compareIDs(b.ID, a.ID))
		})
		all = slices.DeleteFunc(all, func(s jobs.Session) bool { return s.Person != person || !m.isOpen(key{firm, s.ID}, at) })
		return nil
	})
	return all, err
}

// KnowsBrowser implements jobs.Sessions.
func (m *Memory) KnowsBrowser(ctx context.Context, firm, person events.ID, browser events.Digest) (known bool, err error) {
	err = m.call(ctx, "KnowsBrowser", func() error {
		for k, s := range m.sessions {
			known = known || (k.firm == firm && s.Person == person && s.Browser == browser)
		}
		return nil
	})
	return known, err
}

// CreateInvitation implements jobs.Invitations.
func (m *Memory) CreateInvitation(ctx context.Context, i jobs.Invitation) error {
	return m.call(ctx, "CreateInvitation", func() error {
		if err := m.needFirm(i.Firm); err != nil {
			return err
		}
		if !i.Person.IsZero() && !m.worksHere(key{i.Firm, i.Person}) {
			return events.ErrNotFound
		}
		m.closeInvitations(func(old jobs.Invitation) bool { return old.Firm == i.Firm && old.Person == i.Person })
		m.invitations[key{i.Firm, i.ID}] = i
		return nil
	})
}

func (m *Memory) closeInvitations(which func(jobs.Invitation) bool) {
	for k, i := range m.invitations {
		if which(i) {
			m.closed[k] = true
		}
	}
}

func (m *Memory) invitation(firm events.ID, hash events.Digest, at time.Time) (jobs.Invitation, error) {
	for k, i := range m.invitations {
		if k.firm == firm && i.Hash == hash && !m.closed[k] && i.ExpiresAt.After(at) {
			return i, nil
		}
	}
	return jobs.Invitation{}, events.ErrNotFound
}

// FindInvitation implements jobs.Invitations.
func (m *Memory) FindInvitation(ctx context.Context, firm events.ID, hash events.Digest, at time.Time) (i jobs.Invitation, err error) {
	err = m.call(ctx, "FindInvitation", func() (err error) {
		i, err = m.invitation(firm, hash, at)
		return err
	})
	return i, err
}

// TakeInvitation implements jobs.Invitations.
func (m *Memory) TakeInvitation(ctx context.Context, hash events.Digest, at time.Time, a jobs.Arrival) error {
	return m.call(ctx, "TakeInvitation", func() error {
		i, err := m.invitation(a.Firm.ID, hash, at)
		if err != nil {
			return err
		}
		if i.Purpose != jobs.First {
			a.Account.Person = i.Person
		} else {
			if err := m.nameFirm(a.Firm); err != nil {
				return err
			}
			m.people[key{a.Firm.ID, a.Person.ID}] = a.Person
		}
		if err := m.saveAccount(a.Account, events.ID{}, at); err != nil {
			return err
		}
		m.closed[key{i.Firm, i.ID}] = true
		return nil
	})
}

// RevokeInvitation implements jobs.Invitations.
func (m *Memory) RevokeInvitation(ctx context.Context, firm, id events.ID, at time.Time) error {
	return m.call(ctx, "RevokeInvitation", func() error {
		_, there := m.invitations[key{firm, id}]
		m.closed[key{firm, id}] = there
		return orMissing(there)
	})
}

// ListInvitations implements jobs.Invitations.
func (m *Memory) ListInvitations(ctx context.Context, firm events.ID, at time.Time) (all []jobs.Invitation, err error) {
	err = m.call(ctx, "ListInvitations", func() error {
		all = ofFirm(m.invitations, firm, func(a, b jobs.Invitation) int {
			return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), compareIDs(b.ID, a.ID))
		})
		all = slices.DeleteFunc(all, func(i jobs.Invitation) bool { return m.closed[key{firm, i.ID}] || !i.ExpiresAt.After(at) })
		return nil
	})
	return all, err
}

// CreatePasskey implements jobs.Passkeys.
func (m *Memory) CreatePasskey(ctx context.Context, k jobs.Passkey) error {
	return m.call(ctx, "CreatePasskey", func() error {
		_, there := m.accounts[key{k.Firm, k.Person}]
		if there {
			m.passkeys[key{k.Firm, k.ID}] = k
		}
		return orMissing(there)
	})
}

// ListPasskeys implements jobs.Passkeys.
func (m *Memory) ListPasskeys(ctx context.Context, firm, person events.ID) (all []jobs.Passkey, err error) {
	err = m.call(ctx, "ListPasskeys", func() error {
		all = ofFirm(m.passkeys, firm, func(a, b jobs.Passkey) int {
			return cmp.Or(b.CreatedAt.Compare(a.CreatedAt), compareIDs(b.ID, a.ID))
		})
		all = slices.DeleteFunc(all, func(k jobs.Passkey) bool { return k.Person != person })
		return nil
	})
	return all, err
}

// UsePasskey implements jobs.Passkeys.
func (m *Memory) UsePasskey(ctx context.Context, k jobs.Passkey) error {
	return m.changePasskey(ctx, "UsePasskey", k.Firm, k.Person, k.ID, func(of key, kept jobs.Passkey) {
		kept.Credential, kept.UsedAt = k.Credential, k.UsedAt
		m.passkeys[of] = kept
	})
}

// DeletePasskey implements jobs.Passkeys.
func (m *Memory) DeletePasskey(ctx context.Context, firm, person, id events.ID) error {
	return m.changePasskey(ctx, "DeletePasskey", firm, person, id, func(of key, _ jobs.Passkey) { delete(m.passkeys, of) })
}

func (m *Memory) changePasskey(ctx context.Context, call string, firm, person, id events.ID, change func(key, jobs.Passkey)) error {
	return m.call(ctx, call, func() error {
		kept, there := m.passkeys[key{firm, id}]
		if !there || kept.Person != person {
			return events.ErrNotFound
		}
		change(key{firm, id}, kept)
		return nil
	})
}

// KeepChallenge implements jobs.Passkeys.
func (m *Memory) KeepChallenge(ctx context.Context, c jobs.Challenge, now time.Time) error {
	return m.call(ctx, "KeepChallenge", func() error {
		for hash, kept := range m.challenges {
			if !kept.ExpiresAt.After(now) {
				delete(m.challenges, hash)
			}
		}
		m.challenges[c.Hash] = c
		return nil
	})
}

// TakeChallenge implements jobs.Passkeys.
func (m *Memory) TakeChallenge(ctx context.Context, hash events.Digest, now time.Time) (c jobs.Challenge, err error) {
	err = m.call(ctx, "TakeChallenge", func() error {
		kept, there := m.challenges[hash]
		delete(m.challenges, hash)
		if !there || !kept.ExpiresAt.After(now) {
			return events.ErrNotFound
		}
		c = kept
		return nil
	})
	return c, err
}
