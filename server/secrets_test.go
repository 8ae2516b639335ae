package server_test

import (
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
	"relevel/server"
)

// secretShapes are what opens something, by how it looks: tokens, sessions, what stands
// behind the # of a one-time link, an owner's link and its code, what a hook signs with, a
// calendar's address.
var secretShapes = regexp.MustCompile(`r[ls]_[0-9a-f]{32}_[0-9a-f]{64}|\b[0-9a-f]{32}_[0-9a-f]{64}\b|\b[2-9A-HJ-NP-Z]{52}\b|(?:[2-9A-HJ-NP-Z]{4}-){12}[2-9A-HJ-NP-Z]{4}\b|rlh_[0-9a-f]{32,}|/calendar/[0-9a-z_]{20,}`)

// canaries are secrets that somebody sends, of the right form and wrong.
var canaries = map[string]string{
	"password": "canary wattle stump level", "present": "canary wattle stump bearer", "code": "CNRY-CNRY", "secret": "canary-secret-7f3a", "token": "rl_" + strings.Repeat("0c", 16) + "_" + strings.Repeat("ca", 32),
	"link": strings.Repeat("0c", 16) + "_" + strings.Repeat("cb", 32), "credential": "canary-credential-91d0",
}

// neverRepeated is what no answer shows again. A code that was typed wrong is shown, to be
// put right.
var neverRepeated = []string{canaries["password"], canaries["present"], canaries["credential"], canaries["token"], canarySession}

// canarySession is a session's cookie that nobody has.
var canarySession = "rs_" + strings.Repeat("0c", 16) + "_" + strings.Repeat("cc", 32)

// Whatever is asked of whichever door, with what opens it and with what does not, neither
// the log, as text or as JSON, nor any table holds a secret, and no answer repeats one.
func TestSecretsStayOut(t *testing.T) {
	clock, log := newHandClock(), &logBook{}
	s := newSiteOn(t, pgtest.New(t), withClock(clock), func(c *server.Config) {
		all := &slog.HandlerOptions{Level: slog.LevelDebug}
		c.Logger = slog.New(slog.NewMultiHandler(slog.NewJSONHandler(log, all), slog.NewTextHandler(log, all)))
	})
	w := newWorld(t, s, clock)
	for _, d := range doors {
		clock.tick()
		w.ask(t, d.request(), w.names)
		for _, q := range withCanaries(d) {
			if a := w.ask(t, q, w.names); q.method == http.MethodPost { // an address is its sender's own
				hides(t, string(a.body), neverRepeated...)
			}
		}
	}
	code := w.code(t)
	w.send("POST", "/pair", fmt.Appendf(nil, `{"code":%q,"device":"phone"}`, code)).want(t, http.StatusCreated, nil)
	hides(t, log.String(), w.account.Name, goodPassword, code)
	noSecrets(t, "the log", log.String())
	for table, rows := range s.rowsAsText(t) {
		if table == "hook" { // what it signs with has to be known when it signs
			rows = regexp.MustCompile(`rlh_\w+`).ReplaceAllString(rows, "")
		}
		noSecrets(t, table, rows)
		hides(t, rows, goodPassword, code, strings.ReplaceAll(code, "-", ""))
	}
}

// withCanaries is a door asked with secrets that open nothing, in its body and in its
// address.
func withCanaries(d door) []request {
	form, object := url.Values{}, []string{}
	for name, secret := range canaries {
		form.Set(name, secret)
		object = append(object, fmt.Sprintf("%q:%q", name, secret))
	}
	q := d.request()
	if q.method == http.MethodPost {
		q.body, q.media = form.Encode(), formMedia
		if strings.HasPrefix(q.path, "/api/") || strings.Contains(q.path, "passkey") {
			q.body, q.media = "{"+strings.Join(object, ",")+"}", "application/json"
		}
		broken := q
		broken.body = strings.TrimSuffix(q.body, "}") + ",%zz"
		return []request{q, broken}
	}
	separator := "?"
	if strings.Contains(q.path, "?") {
		separator = "&"
	}
	q.path += separator + form.Encode()
	return []request{q}
}

// noSecrets fails the test where a text holds what opens something.
func noSecrets(t *testing.T, where, text string) {
	t.Helper()
	for _, secret := range canaries {
		if strings.Contains(text, secret) {
			t.Errorf("%s holds %q", where, secret)
		}
	}
	for i, at := range secretShapes.FindAllStringIndex(text, -1) {
		if i == 5 {
			return
		}
		t.Errorf("%s holds a secret: …%s…", where, text[max(0, at[0]-60):min(len(text), at[1]+20)])
	}
}

// rowsAsText is what stands in every table, as the database writes it.
func (s *site) rowsAsText(t *testing.T) map[string]string {
	t.Helper()
	conn := s.db.Connect(localpg.Superuser)
	all := map[string]string{}
	for _, table := range tablesFrom(t, conn, `SELECT table_name::text FROM information_schema.tables WHERE table_schema = 'public' AND table_type = 'BASE TABLE'`) {
		var text string
		must(t, conn.QueryRow(t.Context(), `SELECT coalesce(string_agg(r::text, E'\n'), '') FROM `+table+` AS r`).Scan(&text))
		all[table] = text
	}
	return all
}

// When the store fails or a bug is met, what is logged of it holds no secret either.
func TestSecretsStayOutOfFailures(t *testing.T) {
	for _, fail := range []func(string) error{
		func(call string) error { return fmt.Errorf("%s: the connection was cut", call) },
		func(call string) error {
			if strings.HasPrefix(call, "Find") { // what requests ask for
				panic("a bug in " + call)
			}
			return nil
		},
	} {
		s := newMemorySite(t)
		s.store.Fail = fail
		for _, d := range doors {
			for _, q := range withCanaries(d) {
				r := s.request(t, door{route: d.route, at: q.path, open: true}, q.path, []byte(q.body))
				r.Header.Set("Content-Type", q.media)
				r.Header.Set("Authorization", "Bearer "+canaries["token"])
				if len(q.body)%2 == 0 {
					r.Header.Del("Authorization")
					r.AddCookie(&http.Cookie{Name: "relevel", Value: canarySession})
				}
				w := httptest.NewRecorder()
				s.app.ServeHTTP(w, r)
				if q.method == http.MethodPost {
					hides(t, w.Body.String(), neverRepeated...)
				}
			}
		}
		noSecrets(t, "the log", s.log.String())
		if !strings.Contains(s.log.String(), "internal error") {
			t.Error("nothing failed: nothing was looked at")
		}
	}
}
