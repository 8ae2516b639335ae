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

func newPerson(t *testing.T, s jobs.Store, firm events.ID) jobs.Person {
	t.Helper()
	p := jobs.Person{Firm: firm, ID: newID(t), Name: "Ari", Role: jobs.SiteLead, CreatedAt: start}
	must(t, s.CreatePerson(t.Context(), p))
	return p
}

// newAccount makes a person with an account of a name that nobody else has.
func newAccount(t *testing.T, s jobs.Store, firm events.ID) jobs.Account {
	t.Helper()
	p := newPerson(t, s, firm)
	a := jobs.Account{Firm: firm, Person: p.ID, Name: p.ID.String() + "@example.com", Password: "hashed", CreatedAt: start}
	_, err := s.ClaimName(t.Context(), a.NameHash(), firm, jobs.Salt{1})
	must(t, err)
	must(t, s.SaveAccount(t.Context(), a, events.ID{}, start))
	return a
}

func newSession(t *testing.T, s jobs.Store, firm, person, token events.ID) jobs.Session {
	t.Helper()
	_, hash, err := jobs.NewSession(firm, rand.Reader)
	must(t, err)
	one := jobs.Session{
		Firm: firm, ID: newID(t), Hash: hash, Person: person, Token: token, Browser: events.Digest(sha256.Sum256(hash[:])), Agent: "a browser",
		CreatedAt: start, SeenAt: start, ExpiresAt: start.Add(time.Hour),
	}
	must(t, s.CreateSession(t.Context(), one, ""))
	return one
}

func newInvitation(t *testing.T, firm, person events.ID, purpose jobs.Purpose) jobs.Invitation {
	t.Helper()
	_, hash, err := jobs.NewInvitation(firm, rand.Reader)
	must(t, err)
	return jobs.Invitation{Firm: firm, ID: newID(t), Hash: hash, Purpose: purpose, Person: person, CreatedAt: start, ExpiresAt: start.Add(time.Hour)}
}

func personLeaves(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	a := newAccount(t, s, firm)
	session := newSession(t, s, firm, a.Person, events.ID{})
	token := newToken(t, firm)
	token.Person = a.Person
	must(t, s.CreateToken(t.Context(), token))
	invitation := newInvitation(t, firm, a.Person, jobs.Reset)
	must(t, s.CreateInvitation(t.Context(), invitation))
	must(t, s.CreatePasskey(t.Context(), jobs.Passkey{Firm: firm, Person: a.Person, ID: newID(t), Name: "phone", Credential: []byte(`{}`), CreatedAt: start}))
	must(t, s.ChangeRole(t.Context(), firm, a.Person, jobs.Office, start))

	gone := start.Add(time.Minute)
	must(t, s.LeaveFirm(t.Context(), firm, a.Person, gone))
	must(t, s.LeaveFirm(t.Context(), firm, a.Person, gone.Add(time.Minute)))
	p, err := s.FindPerson(t.Context(), firm, a.Person)
	want(t, "FindPerson", p, err, jobs.Person{Firm: firm, ID: a.Person, Name: "Ari", Role: jobs.Office, CreatedAt: start, LeftAt: gone})
	_, err = s.FindSession(t.Context(), firm, session.Hash, gone)
	wantErr(t, "FindSession", err, events.ErrNotFound)
	_, err = s.FindToken(t.Context(), firm, token.Hash)
	wantErr(t, "FindToken", err, events.ErrNotFound)
	_, err = s.FindInvitation(t.Context(), firm, invitation.Hash, gone)
	wantErr(t, "FindInvitation", err, events.ErrNotFound)
	_, err = s.FindAccount(t.Context(), firm, a.Person)
	wantErr(t, "FindAccount", err, events.ErrNotFound)
	names, err := s.FindName(t.Context(), a.NameHash())
	want(t, "FindName", len(names), err, 0)
	wantErr(t, "SaveAccount", s.SaveAccount(t.Context(), a, events.ID{}, gone), events.ErrNotFound)
	other := session
	other.ID, other.Hash = newID(t), events.Digest{1}
	wantErr(t, "CreateSession", s.CreateSession(t.Context(), other, ""), events.ErrNotFound)
	wantErr(t, "CreateInvitation", s.CreateInvitation(t.Context(), newInvitation(t, firm, a.Person, jobs.Invited)), events.ErrNotFound)

	// Back again, nothing that was ended opens.
	must(t, s.ReturnToFirm(t.Context(), firm, a.Person))
	_, err = s.FindSession(t.Context(), firm, session.Hash, gone)
	wantErr(t, "FindSession after the return", err, events.ErrNotFound)
	keys, err := s.ListPasskeys(t.Context(), firm, a.Person)
	want(t, "ListPasskeys", len(keys), err, 0)
	must(t, s.CreateInvitation(t.Context(), newInvitation(t, firm, a.Person, jobs.Invited)))
	for name, change := range map[string]error{
		"LeaveFirm":    s.LeaveFirm(t.Context(), firm, newID(t), gone),
		"ReturnToFirm": s.ReturnToFirm(t.Context(), firm, newID(t)),
		"ChangeRole":   s.ChangeRole(t.Context(), firm, newID(t), jobs.Office, start),
	} {
		wantErr(t, name+" of nobody", change, events.ErrNotFound)
	}
}

func accountOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	a := newAccount(t, s, firm)
	got, err := s.FindAccount(t.Context(), firm, a.Person)
	want(t, "FindAccount", got, err, a)
	got, err = s.FindAccountByName(t.Context(), firm, a.NameHash())
	want(t, "FindAccountByName", got, err, a)
	kept, ended := newSession(t, s, firm, a.Person, events.ID{}), newSession(t, s, firm, a.Person, events.ID{})

	// Another name and another password: the old name leads nowhere, the other
	// session is over, and when it was made stays.
	changed := a
	changed.Name, changed.Password, changed.CreatedAt = "other-"+a.Name, "hashed anew", start.Add(time.Hour)
	_, err = s.ClaimName(t.Context(), changed.NameHash(), firm, jobs.Salt{2})
	must(t, err)
	must(t, s.SaveAccount(t.Context(), changed, kept.ID, start.Add(time.Minute)))
	changed.CreatedAt = start
	all, err := s.ListAccounts(t.Context(), firm)
	want(t, "ListAccounts", all, err, []jobs.Account{changed})
	names, err := s.FindName(t.Context(), a.NameHash())
	want(t, "FindName of the old name", len(names), err, 0)
	names, err = s.FindName(t.Context(), changed.NameHash())
	want(t, "FindName", names, err, []jobs.SignIn{{Firm: firm, Salt: jobs.Salt{2}}})
	_, err = s.FindSession(t.Context(), firm, kept.Hash, start)
	must(t, err)
	_, err = s.FindSession(t.Context(), firm, ended.Hash, start)
	wantErr(t, "FindSession after the change", err, events.ErrNotFound)

	rival := newAccount(t, s, firm)
	rival.Name = changed.Name
	wantErr(t, "SaveAccount under another's name", s.SaveAccount(t.Context(), rival, events.ID{}, start), events.ErrConflict)
	_, err = s.FindAccount(t.Context(), firm, newID(t))
	wantErr(t, "FindAccount of nobody", err, events.ErrNotFound)
	_, err = s.ClaimName(t.Context(), a.NameHash(), newID(t), jobs.Salt{})
	wantErr(t, "ClaimName for no firm", err, events.ErrNotFound)
}

func nameOfTwoFirms(t *testing.T, s jobs.Store) {
	one, two := newFirm(t, s).ID, newFirm(t, s).ID
	name := jobs.HashName(one.String() + "@example.com")
	salt, err := s.ClaimName(t.Context(), name, one, jobs.Salt{1})
	want(t, "ClaimName", salt, err, jobs.Salt{1})
	salt, err = s.ClaimName(t.Context(), name, one, jobs.Salt{2})
	want(t, "ClaimName again", salt, err, jobs.Salt{1})
	salt, err = s.ClaimName(t.Context(), name, two, jobs.Salt{3})
	want(t, "ClaimName for another firm", salt, err, jobs.Salt{1})
	names, err := s.FindName(t.Context(), name)
	must(t, err)
	want(t, "FindName", len(names), nil, 2)
}

func sessionOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	p := newPerson(t, s, firm)
	one := newSession(t, s, firm, p.ID, events.ID{})
	got, err := s.FindSession(t.Context(), firm, one.Hash, start)
	want(t, "FindSession", got, err, jobs.Sitting{Session: one, Person: p})
	must(t, s.ChangeRole(t.Context(), firm, p.ID, jobs.Office, start))
	theirs := newToken(t, firm)
	theirs.Person = p.ID
	must(t, s.CreateToken(t.Context(), theirs))
	must(t, s.ChangeRole(t.Context(), firm, p.ID, jobs.CrewHand, start))
	_, err = s.FindToken(t.Context(), firm, theirs.Hash)
	wantErr(t, "FindToken of who left the office", err, events.ErrNotFound)
	must(t, s.ChangeRole(t.Context(), firm, p.ID, jobs.Office, start))
	must(t, s.SeeSession(t.Context(), firm, one.ID, start.Add(time.Minute)))
	must(t, s.SeeSession(t.Context(), firm, one.ID, start))
	p.Role, one.SeenAt = jobs.Office, start.Add(time.Minute)
	got, err = s.FindSession(t.Context(), firm, one.Hash, start)
	want(t, "FindSession with another role", got, err, jobs.Sitting{Session: one, Person: p})
	_, err = s.FindSession(t.Context(), firm, one.Hash, one.ExpiresAt)
	wantErr(t, "FindSession past its time", err, events.ErrNotFound)
	_, err = s.FindSession(t.Context(), firm, events.Digest{1}, start)
	wantErr(t, "FindSession of nobody", err, events.ErrNotFound)

	token := newToken(t, firm)
	must(t, s.CreateToken(t.Context(), token))
	other := newSession(t, s, firm, events.ID{}, token.ID)
	got, err = s.FindSession(t.Context(), firm, other.Hash, start)
	want(t, "FindSession of a token", got, err, jobs.Sitting{Session: other, Token: jobs.Token{Firm: firm, ID: token.ID, Name: token.Name, Scope: token.Scope, CreatedAt: token.CreatedAt}})
	must(t, s.RevokeToken(t.Context(), firm, token.ID, start))
	_, err = s.FindSession(t.Context(), firm, other.Hash, start)
	wantErr(t, "FindSession of a token that was revoked", err, events.ErrNotFound)

	for name, who := range map[string][2]events.ID{"person": {newID(t), {}}, "token": {{}, newID(t)}} {
		nobodys := one
		nobodys.ID, nobodys.Hash, nobodys.Person, nobodys.Token = newID(t), events.Digest{7}, who[0], who[1]
		wantErr(t, "CreateSession without a "+name, s.CreateSession(t.Context(), nobodys, ""), events.ErrNotFound)
	}
}

func sessionsEnd(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	p, q := newPerson(t, s, firm), newPerson(t, s, firm)
	old, young, theirs := newSession(t, s, firm, p.ID, events.ID{}), newSession(t, s, firm, p.ID, events.ID{}), newSession(t, s, firm, q.ID, events.ID{})
	all, err := s.ListSessions(t.Context(), firm, p.ID, start)
	must(t, err)
	want(t, "ListSessions", len(all), nil, 2)
	wantErr(t, "EndSession of another", s.EndSession(t.Context(), firm, p.ID, theirs.ID, start), events.ErrNotFound)
	must(t, s.EndSessions(t.Context(), firm, p.ID, young.ID, start))
	all, err = s.ListSessions(t.Context(), firm, p.ID, start)
	want(t, "ListSessions after the others were ended", all, err, []jobs.Session{young})
	known, err := s.KnowsBrowser(t.Context(), firm, p.ID, old.Browser)
	want(t, "KnowsBrowser of a session that is over", known, err, true)
	known, err = s.KnowsBrowser(t.Context(), firm, q.ID, old.Browser)
	want(t, "KnowsBrowser of another person", known, err, false)
	must(t, s.EndSession(t.Context(), firm, p.ID, young.ID, start))
	_, err = s.FindSession(t.Context(), firm, young.Hash, start)
	wantErr(t, "FindSession after its end", err, events.ErrNotFound)
	_, err = s.FindSession(t.Context(), firm, theirs.Hash, start)
	must(t, err)
	all, err = s.ListSessions(t.Context(), firm, q.ID, theirs.ExpiresAt)
	want(t, "ListSessions past their time", len(all), err, 0)
}

func invitationOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	p := newPerson(t, s, firm)
	older, i := newInvitation(t, firm, p.ID, jobs.Invited), newInvitation(t, firm, p.ID, jobs.Invited)
	i.MadeBy = newPerson(t, s, firm).ID
	must(t, s.CreateInvitation(t.Context(), older))
	must(t, s.CreateInvitation(t.Context(), i))
	_, err := s.FindInvitation(t.Context(), firm, older.Hash, start)
	wantErr(t, "FindInvitation of an older one", err, events.ErrNotFound)
	got, err := s.FindInvitation(t.Context(), firm, i.Hash, start)
	want(t, "FindInvitation", got, err, i)
	all, err := s.ListInvitations(t.Context(), firm, start)
	want(t, "ListInvitations", all, err, []jobs.Invitation{i})
	_, err = s.FindInvitation(t.Context(), firm, i.Hash, i.ExpiresAt)
	wantErr(t, "FindInvitation past its time", err, events.ErrNotFound)

	account := jobs.Account{Firm: firm, Name: "a@example.com", Password: "hashed", CreatedAt: start}
	arrival := jobs.Arrival{Firm: jobs.Firm{ID: firm}, Account: account}
	wantErr(t, "TakeInvitation past its time", s.TakeInvitation(t.Context(), i.Hash, i.ExpiresAt, arrival), events.ErrNotFound)
	must(t, s.TakeInvitation(t.Context(), i.Hash, start, arrival))
	account.Person = p.ID
	found, err := s.FindAccountByName(t.Context(), firm, account.NameHash())
	want(t, "FindAccountByName", found, err, account)
	wantErr(t, "TakeInvitation again", s.TakeInvitation(t.Context(), i.Hash, start, arrival), events.ErrNotFound)

	// A name that is another's takes nothing.
	q := newPerson(t, s, firm)
	reset := newInvitation(t, firm, q.ID, jobs.Reset)
	must(t, s.CreateInvitation(t.Context(), reset))
	wantErr(t, "TakeInvitation under another's name", s.TakeInvitation(t.Context(), reset.Hash, start, arrival), events.ErrConflict)
	_, err = s.FindInvitation(t.Context(), firm, reset.Hash, start)
	must(t, err)
	must(t, s.RevokeInvitation(t.Context(), firm, reset.ID, start))
	_, err = s.FindInvitation(t.Context(), firm, reset.Hash, start)
	wantErr(t, "FindInvitation after it was revoked", err, events.ErrNotFound)
	wantErr(t, "RevokeInvitation of nothing", s.RevokeInvitation(t.Context(), firm, newID(t), start), events.ErrNotFound)
	wantErr(t, "CreateInvitation of nobody", s.CreateInvitation(t.Context(), newInvitation(t, firm, newID(t), jobs.Invited)), events.ErrNotFound)
	wantErr(t, "CreateInvitation of no firm", s.CreateInvitation(t.Context(), newInvitation(t, newID(t), events.ID{}, jobs.First)), events.ErrNotFound)
}

func invitationFirst(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s)
	older, i := newInvitation(t, firm.ID, events.ID{}, jobs.First), newInvitation(t, firm.ID, events.ID{}, jobs.First)
	must(t, s.CreateInvitation(t.Context(), older))
	must(t, s.CreateInvitation(t.Context(), i))
	_, err := s.FindInvitation(t.Context(), firm.ID, older.Hash, start)
	wantErr(t, "FindInvitation of an older one", err, events.ErrNotFound)
	firm.Name, firm.Words = "Level Best", jobs.NewZealand
	p := jobs.Person{Firm: firm.ID, ID: newID(t), Name: "Zoe", Role: jobs.Office, CreatedAt: start}
	a := jobs.Account{Firm: firm.ID, Person: p.ID, Name: "zoe@example.com", Password: "hashed", CreatedAt: start}
	must(t, s.TakeInvitation(t.Context(), i.Hash, start, jobs.Arrival{Firm: firm, Person: p, Account: a}))
	named, err := s.FindFirm(t.Context(), firm.ID)
	want(t, "FindFirm", named, err, firm)
	people, err := s.ListPeople(t.Context(), firm.ID)
	want(t, "ListPeople", people, err, []jobs.Person{p})
	got, err := s.FindAccount(t.Context(), firm.ID, p.ID)
	want(t, "FindAccount", got, err, a)

	firm.Name = "Level Better"
	must(t, s.NameFirm(t.Context(), firm))
	named, err = s.FindFirm(t.Context(), firm.ID)
	want(t, "FindFirm by its new name", named, err, firm)
	wantErr(t, "NameFirm of none", s.NameFirm(t.Context(), jobs.Firm{ID: newID(t), Name: "x", Words: jobs.Australia}), events.ErrNotFound)
}

// Of those who come at once with one link, one is let in.
func invitationOnce(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	i := newInvitation(t, firm, newPerson(t, s, firm).ID, jobs.Invited)
	must(t, s.CreateInvitation(t.Context(), i))
	var in atomic.Int32
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			a := jobs.Account{Firm: firm, Name: "a@example.com", Password: "hashed", CreatedAt: start}
			if s.TakeInvitation(t.Context(), i.Hash, start, jobs.Arrival{Firm: jobs.Firm{ID: firm}, Account: a}) == nil {
				in.Add(1)
			}
		})
	}
	all.Wait()
	want(t, "TakeInvitation at once", in.Load(), nil, 1)
}

func passkeyOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	a := newAccount(t, s, firm)
	k := jobs.Passkey{Firm: firm, Person: a.Person, ID: newID(t), Name: "phone", Credential: []byte(`{"n": 1}`), CreatedAt: start}
	must(t, s.CreatePasskey(t.Context(), k))
	k.Credential, k.UsedAt = []byte(`{"n": 2}`), start.Add(time.Minute)
	must(t, s.UsePasskey(t.Context(), k))
	keys, err := s.ListPasskeys(t.Context(), firm, a.Person)
	want(t, "ListPasskeys", keys, err, []jobs.Passkey{k})
	wantErr(t, "DeletePasskey of another", s.DeletePasskey(t.Context(), firm, newID(t), k.ID), events.ErrNotFound)
	must(t, s.DeletePasskey(t.Context(), firm, a.Person, k.ID))
	wantErr(t, "UsePasskey that is gone", s.UsePasskey(t.Context(), k), events.ErrNotFound)
	k.Person = newPerson(t, s, firm).ID
	wantErr(t, "CreatePasskey without an account", s.CreatePasskey(t.Context(), k), events.ErrNotFound)
}

func challengeOK(t *testing.T, s jobs.Store) {
	c := jobs.Challenge{Hash: events.Digest(sha256.Sum256([]byte(newID(t).String()))), Body: []byte(`{"n": 1}`), ExpiresAt: start.Add(time.Minute)}
	must(t, s.KeepChallenge(t.Context(), c, start))
	got, err := s.TakeChallenge(t.Context(), c.Hash, start)
	want(t, "TakeChallenge", got, err, c)
	_, err = s.TakeChallenge(t.Context(), c.Hash, start)
	wantErr(t, "TakeChallenge again", err, events.ErrNotFound)
	must(t, s.KeepChallenge(t.Context(), c, start))
	_, err = s.TakeChallenge(t.Context(), c.Hash, c.ExpiresAt)
	wantErr(t, "TakeChallenge past its time", err, events.ErrNotFound)
}

func trailOK(t *testing.T, s jobs.Store) {
	firm := newFirm(t, s).ID
	ari, zoe, job := newID(t), newID(t), newID(t)
	in := jobs.Trace{ID: newID(t), At: start, What: jobs.SignedIn, By: ari, Address: "192.0.2.1"}
	role := jobs.Trace{ID: newID(t), At: start.Add(time.Minute), What: jobs.RoleChanged, By: zoe, About: ari, Detail: "office"}
	saw := jobs.Trace{At: start.Add(time.Hour), What: jobs.JobSeen, By: zoe, Token: newID(t), Job: job}
	saw.ID = jobs.SeenOnce(saw)
	again := saw
	again.At = again.At.Add(time.Minute)
	must(t, s.AppendTraces(t.Context(), firm, []jobs.Trace{in, role, saw}))
	must(t, s.AppendTraces(t.Context(), firm, []jobs.Trace{again}))
	wantErr(t, "AppendTraces of no firm", s.AppendTraces(t.Context(), events.ID{}, []jobs.Trace{in}), events.ErrNotFound)
	for name, test := range map[string]struct {
		f    jobs.TraceFilter
		want []jobs.Trace
	}{
		"all":          {jobs.TraceFilter{}, []jobs.Trace{saw, role, in}},
		"two":          {jobs.TraceFilter{Limit: 2}, []jobs.Trace{saw, role}},
		"after two":    {jobs.TraceFilter{After: role}, []jobs.Trace{in}},
		"of a sort":    {jobs.TraceFilter{What: jobs.RoleChanged}, []jobs.Trace{role}},
		"by and about": {jobs.TraceFilter{Who: ari}, []jobs.Trace{role, in}},
		"of a job":     {jobs.TraceFilter{Job: job}, []jobs.Trace{saw}},
		"since":        {jobs.TraceFilter{Since: role.At}, []jobs.Trace{saw, role}},
		"until":        {jobs.TraceFilter{Until: role.At}, []jobs.Trace{in}},
	} {
		if test.f.Limit == 0 {
			test.f.Limit = 10
		}
		got, err := s.ListTraces(t.Context(), firm, test.f)
		want(t, "ListTraces, "+name, got, err, test.want)
	}
}

// accessApart: nothing that one firm keeps of its people opens or shows in another.
func accessApart(t *testing.T, s jobs.Store) {
	ours, theirs := newFirm(t, s).ID, newFirm(t, s).ID
	a := newAccount(t, s, theirs)
	session := newSession(t, s, theirs, a.Person, events.ID{})
	i := newInvitation(t, theirs, a.Person, jobs.Reset)
	must(t, s.CreateInvitation(t.Context(), i))
	k := jobs.Passkey{Firm: theirs, Person: a.Person, ID: newID(t), Name: "phone", Credential: []byte(`{}`), CreatedAt: start}
	must(t, s.CreatePasskey(t.Context(), k))
	must(t, s.AppendTraces(t.Context(), theirs, []jobs.Trace{{ID: newID(t), At: start, What: jobs.SignedIn}}))

	_, err := s.FindSession(t.Context(), ours, session.Hash, start)
	wantErr(t, "FindSession", err, events.ErrNotFound)
	wantErr(t, "EndSession", s.EndSession(t.Context(), ours, a.Person, session.ID, start), events.ErrNotFound)
	must(t, s.EndSessions(t.Context(), ours, a.Person, events.ID{}, start))
	_, err = s.FindInvitation(t.Context(), ours, i.Hash, start)
	wantErr(t, "FindInvitation", err, events.ErrNotFound)
	wantErr(t, "RevokeInvitation", s.RevokeInvitation(t.Context(), ours, i.ID, start), events.ErrNotFound)
	_, err = s.FindAccountByName(t.Context(), ours, a.NameHash())
	wantErr(t, "FindAccountByName", err, events.ErrNotFound)
	wantErr(t, "DeletePasskey", s.DeletePasskey(t.Context(), ours, a.Person, k.ID), events.ErrNotFound)
	wantErr(t, "LeaveFirm", s.LeaveFirm(t.Context(), ours, a.Person, start), events.ErrNotFound)
	_, err = s.FindPerson(t.Context(), ours, a.Person)
	wantErr(t, "FindPerson", err, events.ErrNotFound)
	traces, err := s.ListTraces(t.Context(), ours, jobs.TraceFilter{Limit: 10})
	want(t, "ListTraces", len(traces), err, 0)
	known, err := s.KnowsBrowser(t.Context(), ours, a.Person, session.Browser)
	want(t, "KnowsBrowser", known, err, false)
	_, err = s.FindSession(t.Context(), theirs, session.Hash, start)
	must(t, err)
}
