package server_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// fillAccount lets somebody of the firm follow a link, and sign in with it.
func (w *world) fillAccount(t *testing.T) {
	w.add(t, "POST", "/people", `{"id":"{signer}","name":"signer {word}","role":"office"}`)
	w.clock.tick()
	a := w.visit(t, "POST", "/people/{signer}/link", "")
	_, link, found := strings.Cut(string(a.body), "/invitation#")
	if !found {
		t.Fatalf("status %d, and no link: %s", a.status, a.body)
	}
	link, _, _ = strings.Cut(link, `"`)
	w.clock.tick()
	form := url.Values{"link": {link}, "email": {w.word + "@example.com"}, "password": {goodPassword}}
	a = w.visit(t, "POST", "/invitation/accept", form.Encode())
	w.own = (&http.Response{Header: a.header}).Cookies()
	var err error
	w.account, err = w.store.FindAccount(t.Context(), w.firm, mustID(t, w.names["signer"]))
	must(t, err)
	sessions, err := w.store.ListSessions(t.Context(), w.firm, w.account.Person, w.clock.now())
	must(t, err)
	if len(sessions) != 1 || len(w.own) == 0 {
		t.Fatalf("%d sessions, %d cookies", len(sessions), len(w.own))
	}
	w.sitting = sessions[0].ID
}

// renewAccount sets the password that it had, and adds a browser, passkeys and an
// access that can be taken away.
func (w *world) renewAccount(t *testing.T) {
	t.Helper()
	ctx, now, person := t.Context(), w.clock.now(), w.account.Person
	must(t, w.store.SaveAccount(ctx, w.account, w.sitting, now))
	passkey, spare, session, access := newID(t), newID(t), newID(t), newID(t)
	for i, id := range []events.ID{spare, passkey} {
		at := now.Add(time.Duration(i) * time.Millisecond) // lists have an order
		must(t, w.store.CreatePasskey(ctx, jobs.Passkey{Firm: w.firm, Person: person, ID: id, Name: "passkey " + w.word, Credential: []byte("{}"), CreatedAt: at}))
	}
	one := jobs.Session{Firm: w.firm, ID: session, Person: person, Agent: w.word, CreatedAt: now, SeenAt: now, ExpiresAt: now.Add(jobs.SessionLasts)}
	copy(one.Hash[:], session[:])
	must(t, w.store.CreateSession(ctx, one, ""))
	token := jobs.Token{Firm: w.firm, ID: access, Name: "access " + w.word, Scope: jobs.ScopeRead, CreatedAt: now}
	copy(token.Hash[:], access[:])
	must(t, w.store.CreateToken(ctx, token))
	w.names["passkey"], w.names["session"], w.names["access"] = passkey.String(), session.String(), access.String()
}

// keepApart sends what has no place in the log: an event of a job that the firm does
// not have, and something unreadable.
func (w *world) keepApart(t *testing.T) {
	t.Helper()
	w.clock.tick() // one comes after the other
	elsewhere := newID(t).String()
	raw := strings.Replace(envelope("note", `{"text":"elsewhere {word}"}`), "{job}", elsewhere, 1)
	w.ask(t, request{method: "POST", path: "/api/v1/jobs/" + elsewhere + "/events", body: `{"events":[` + raw + `]}`, media: "application/json"}, w.names)
	w.names["kept"] = w.lastApart(t)
	w.clock.tick()
	w.send("POST", w.fill("/jobs/{job}/events"), []byte("unreadable "+elsewhere)).want(t, 400, nil)
	w.names["other_kept"] = w.lastApart(t)
}

// lastApart is by what the thing that was kept apart last is named.
func (w *world) lastApart(t *testing.T) string {
	t.Helper()
	var list struct{ Quarantine []struct{ Key string } }
	w.get("/quarantine?limit=1", &list)
	if len(list.Quarantine) != 1 {
		t.Fatal("nothing was kept apart")
	}
	return list.Quarantine[0].Key
}

// fillHook notes that the hook was told of the job.
func (w *world) fillHook(t *testing.T) {
	t.Helper()
	hook, subject := mustID(t, w.names["hook"]), "job/"+w.names["job"]
	must(t, w.store.Tell(t.Context(), jobs.Told{Firm: w.firm, Hook: hook, Subject: subject, Seq: 1}))
	must(t, w.store.AddDelivery(t.Context(), jobs.Delivery{
		Firm: w.firm, ID: newID(t), Hook: hook, Delivery: newID(t), Subject: subject, Seq: 1, Happening: "job-closed", At: w.clock.now(), Status: 200,
	}))
}

// asOfNow fills in where the world's own job stands: its last line, and how often its
// particulars were changed.
func (w *world) asOfNow(t *testing.T, body string) string {
	t.Helper()
	if !strings.Contains(body, "{head}") && !strings.Contains(body, "{revision}") {
		return body
	}
	var job struct{ Seq, Revision json.Number }
	w.get("/jobs/"+w.names["job"], &job)
	return strings.NewReplacer("{head}", job.Seq.String(), "{revision}", job.Revision.String()).Replace(body)
}
