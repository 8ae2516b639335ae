package jobstest

import (
	"crypto/rand"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// draftSession is a session that is not kept yet.
func draftSession(t *testing.T, a jobs.Account) jobs.Session {
	t.Helper()
	_, hash, err := jobs.NewSession(a.Firm, rand.Reader)
	must(t, err)
	return jobs.Session{Firm: a.Firm, ID: newID(t), Hash: hash, Person: a.Person, CreatedAt: start, SeenAt: start, ExpiresAt: start.Add(time.Hour)}
}

func passwordReplaced(t *testing.T, s jobs.Store) {
	a := newAccount(t, s, newFirm(t, s).ID)
	must(t, s.CreateSession(t.Context(), draftSession(t, a), a.Password))
	old := a.Password
	a.Password = "hashed anew"
	must(t, s.SaveAccount(t.Context(), a, events.ID{}, start))
	wantErr(t, "CreateSession by the old password", s.CreateSession(t.Context(), draftSession(t, a), old), events.ErrNotFound)
	must(t, s.CreateSession(t.Context(), draftSession(t, a), a.Password))
	must(t, s.CreateSession(t.Context(), draftSession(t, a), "")) // by a passkey
	nobody := newPerson(t, s, a.Firm)
	wantErr(t, "CreateSession without an account", s.CreateSession(t.Context(), draftSession(t, jobs.Account{Firm: a.Firm, Person: nobody.ID}), old), events.ErrNotFound)
}

// A session that the old password opens at the very moment of the change is ended by it,
// or does not come to be.
func passwordRaces(t *testing.T, s jobs.Store) {
	a := newAccount(t, s, newFirm(t, s).ID)
	for i := range 40 {
		one, old := draftSession(t, a), a.Password
		a.Password = fmt.Sprint("hashed ", i)
		var both sync.WaitGroup
		both.Go(func() { must(t, s.SaveAccount(t.Context(), a, events.ID{}, start)) })
		both.Go(func() {
			if err := s.CreateSession(t.Context(), one, old); err != nil && !errors.Is(err, events.ErrNotFound) {
				t.Errorf("CreateSession = %v", err)
			}
		})
		both.Wait()
		_, err := s.FindSession(t.Context(), a.Firm, one.Hash, start)
		wantErr(t, "FindSession", err, events.ErrNotFound)
	}
}

// A link that somebody else may hold opens nothing once there is another password.
func passwordEndsLinks(t *testing.T, s jobs.Store) {
	a := newAccount(t, s, newFirm(t, s).ID)
	other := newAccount(t, s, a.Firm)
	mine, theirs := newInvitation(t, a.Firm, a.Person, jobs.Reset), newInvitation(t, a.Firm, other.Person, jobs.Reset)
	must(t, s.CreateInvitation(t.Context(), mine))
	must(t, s.CreateInvitation(t.Context(), theirs))
	must(t, s.SaveAccount(t.Context(), a, events.ID{}, start))
	_, err := s.FindInvitation(t.Context(), a.Firm, mine.Hash, start)
	wantErr(t, "FindInvitation", err, events.ErrNotFound)
	got, err := s.FindInvitation(t.Context(), a.Firm, theirs.Hash, start)
	want(t, "FindInvitation of another", got, err, theirs)
}
