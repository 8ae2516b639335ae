package jobstest

import (
	"crypto/rand"
	"crypto/sha256"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

func newToken(t *testing.T, firm events.ID) jobs.Token {
	t.Helper()
	_, hash, err := jobs.NewToken(firm, rand.Reader)
	must(t, err)
	return jobs.Token{Firm: firm, ID: newID(t), Hash: hash, Name: "the office", Scope: jobs.ScopePhone, Device: newID(t), CreatedAt: start}
}

func tokenOK(t *testing.T, s jobs.Store) {
	token := newToken(t, newFirm(t, s).ID)
	_, err := s.FindToken(t.Context(), token.Firm, token.Hash)
	wantErr(t, "FindToken before", err, events.ErrNotFound)
	must(t, s.CreateToken(t.Context(), token))
	got, err := s.FindToken(t.Context(), token.Firm, token.Hash)
	want(t, "FindToken", got, err, token)
	other := token
	other.Device = newID(t)
	wantErr(t, "CreateToken for another device", s.CreateToken(t.Context(), other), events.ErrConflict)
}

func tokenRevoked(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	token, other := newToken(t, firm), newToken(t, firm)
	must(t, s.CreateToken(t.Context(), token))
	must(t, s.CreateToken(t.Context(), other))
	must(t, s.RevokeToken(t.Context(), firm, token.ID, start))
	must(t, s.RevokeToken(t.Context(), firm, token.ID, start.Add(time.Hour)))
	_, err := s.FindToken(t.Context(), firm, token.Hash)
	wantErr(t, "FindToken", err, events.ErrNotFound)
	// Making it again does not bring it back.
	must(t, s.CreateToken(t.Context(), token))
	_, err = s.FindToken(t.Context(), firm, token.Hash)
	wantErr(t, "FindToken after making it again", err, events.ErrNotFound)
	got, err := s.FindToken(t.Context(), firm, other.Hash)
	want(t, "FindToken of another", got, err, other)
}

func tokensListed(t *testing.T, s jobs.Store) {
	firm, other := newFirm(t, s).ID, newFirm(t, s).ID
	old, young := newToken(t, firm), newToken(t, firm)
	young.CreatedAt, young.Name, young.Device, young.Scope = start.Add(time.Hour), "a program", events.ID{}, jobs.ScopeRead
	must(t, s.CreateToken(t.Context(), old))
	must(t, s.CreateToken(t.Context(), young))
	must(t, s.CreateToken(t.Context(), newToken(t, other)))
	must(t, s.RevokeToken(t.Context(), firm, old.ID, start.Add(2*time.Hour)))
	must(t, s.RevokeToken(t.Context(), firm, old.ID, start.Add(3*time.Hour))) // no more than it was
	old.RevokedAt = start.Add(2 * time.Hour)
	all, err := s.ListTokens(t.Context(), firm)
	want(t, "ListTokens", all, err, []jobs.Token{young, old})
}

func pairingOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	now := start
	p := jobs.Pairing{Hash: sha256.Sum256(firm[:]), Firm: firm, ExpiresAt: now.Add(time.Minute)}
	must(t, s.CreatePairing(t.Context(), p, now))
	wantErr(t, "CreatePairing of another's code", s.CreatePairing(t.Context(), p, now), events.ErrConflict)
	got, err := s.TakePairing(t.Context(), p.Hash, now)
	want(t, "TakePairing", got, err, firm)
	_, err = s.TakePairing(t.Context(), p.Hash, now)
	wantErr(t, "TakePairing again", err, events.ErrNotFound)

	late := p
	late.Hash[0]++
	must(t, s.CreatePairing(t.Context(), late, now))
	_, err = s.TakePairing(t.Context(), late.Hash, now.Add(time.Minute))
	wantErr(t, "TakePairing past its time", err, events.ErrNotFound)
	_, err = s.TakePairing(t.Context(), events.Digest{1}, now)
	wantErr(t, "TakePairing of nobody's", err, events.ErrNotFound)
	nobodys := p
	nobodys.Firm = newID(t)
	wantErr(t, "CreatePairing of nobody", s.CreatePairing(t.Context(), nobodys, now), events.ErrNotFound)

	// Of those who come at once with one code, one is let in.
	once := p
	once.Hash[1]++
	must(t, s.CreatePairing(t.Context(), once, now))
	var in atomic.Int32
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			if _, err := s.TakePairing(t.Context(), once.Hash, now); err == nil {
				in.Add(1)
			}
		})
	}
	all.Wait()
	want(t, "TakePairing at once", in.Load(), nil, 1)
}
