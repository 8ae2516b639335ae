package server_test

import (
	"context"
	"encoding/base64"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/go-webauthn/webauthn/protocol"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/proof/prooftest"
	"relevel/jobs"
	"relevel/jobs/jobstest"
	"relevel/server"
	"relevel/server/pictures"
	"relevel/server/tasks"
)

// Whatever is sent to whichever address, with whatever headers, the server has an answer
// that is no internal error, and it logs no bug. It works in memory, so that what is
// found is found again.
func FuzzRequest(f *testing.F) {
	for i, d := range doors {
		f.Add(i, d.at, "Accept: text/html\nAccept-Encoding: gzip;q=0, br", d.media, []byte(d.body))
	}
	for _, headers := range []string{
		"X-Forwarded-For: ::ffff:1.2.3.4%25, , 999\nX-Forwarded-Proto: https", "Cookie: relevel=rs_00_11; relevel-browser=zz; turn=9999999999999999999",
		"Authorization: Bearer rl__", "Range: bytes=-1,0-,5-4\nIf-None-Match: *", "Last-Event-ID: -9223372036854775808", "Origin: null\nSec-Fetch-Site: cross-site",
		"If-Modified-Since: yesterday\nExpect: 100-continue", "Content-Encoding: gzip", "Accept: */*;q=1, text/html;q=x\nAccept-Language: \xff",
	} {
		f.Add(20, "", headers, "", []byte("{}"))
	}
	f.Add(3, "", "", "multipart/form-data; boundary=b", []byte("--b\r\nContent-Disposition: form-data; name=photo; filename=\"\x00.jpg\"\r\n\r\n\xff\xd8\xff\r\n--b--"))
	f.Fuzz(func(t *testing.T, which int, at, headers, media string, body []byte) {
		s := newMemorySite(t)
		d := doors[uint(which)%uint(len(doors))]
		r := s.request(t, d, at, body)
		if r == nil {
			return
		}
		if media != "" {
			r.Header.Set("Content-Type", media)
		}
		for line := range strings.Lines(headers) {
			if name, value, ok := strings.Cut(strings.TrimSpace(line), ":"); ok {
				r.Header.Add(strings.TrimSpace(name), strings.TrimSpace(value))
			}
		}
		w := httptest.NewRecorder()
		s.app.ServeHTTP(w, r)
		if w.Code == http.StatusInternalServerError || strings.Contains(s.log.String(), "panic") {
			t.Errorf("%s %s: status %d\n%s", r.Method, r.URL, w.Code, s.log)
		}
	})
}

// memorySite is a server whose stores forget everything.
type memorySite struct {
	app   *server.Server
	store *jobstest.Memory
	log   *logBook
	token string
	names map[string]string
}

func newMemorySite(t *testing.T) *memorySite {
	t.Helper()
	store, log := jobstest.NewMemory(), eventstest.NewMemLog()
	photos := &events.Photos{Objects: &eventstest.MemObjects{Synced: true}, Ledger: &eventstest.MemLedger{}, Spool: t.TempDir()}
	s := &memorySite{store: store, log: &logBook{}, names: map[string]string{"word": "wattle", "support": "B1-1", "other_support": "B1-2"}}
	config := server.Config{
		Log: log, Store: store, Photos: photos, Album: pictures.NewAlbum(photos, pictures.NewMaker(0)),
		Logger: slog.New(slog.NewJSONHandler(s.log, &slog.HandlerOptions{Level: slog.LevelDebug})), Tasks: ownTasks{tasks.NewMemory()}, Version: "test", Checkpoints: prooftest.NewMemory(),
	}
	config.Limits.Rate, config.Limits.Doors, config.Limits.Pairs = -1, 1<<20, 1<<20
	s.app = server.New(config)
	t.Cleanup(s.app.Close)
	c := newFirm(t, store, "", "Level & Sons")
	s.token = c.token
	for _, key := range []string{"new", "job", "crew", "person", "phone", "form", "note", "finding", "stop", "change", "setup", "hook", "share"} {
		s.names[key] = newID(t).String()
	}
	now := time.Now()
	s.names["now"] = now.UTC().Format(time.RFC3339)
	job, person := mustID(t, s.names["job"]), mustID(t, s.names["person"])
	must(t, store.CreatePerson(t.Context(), jobs.Person{Firm: c.firm, ID: person, Name: "Mere Kohu", Role: jobs.Office, CreatedAt: now}))
	must(t, store.CreateJob(t.Context(), jobs.Job{Firm: c.firm, ID: job, Name: "14 Wattle Street", Zone: "Australia/Sydney", CreatedAt: now}))
	must(t, log.Create(t.Context(), c.firm, job))
	return s
}

// request is what is sent through a door; nil where no request reads so.
func (s *memorySite) request(t *testing.T, d door, at string, body []byte) *http.Request {
	t.Helper()
	method, path, _ := strings.Cut(d.route, " ")
	switch {
	case strings.HasPrefix(at, "?"):
		path += at
	case at != "":
		path = at
	}
	path = placeholder.ReplaceAllString(fill(path, s.names), "none")
	ctx := t.Context()
	if strings.Contains(path, "live") { // goes on for as long as somebody listens
		short, cancel := context.WithTimeout(ctx, 20*time.Millisecond)
		t.Cleanup(cancel)
		ctx = short
	}
	r, err := http.NewRequestWithContext(ctx, method, "http://127.0.0.1/"+strings.TrimLeft(path, "/"), strings.NewReader(fill(string(body), s.names)))
	if err != nil || r.URL.Host != "127.0.0.1" {
		return nil
	}
	r.RequestURI, r.RemoteAddr = r.URL.RequestURI(), "192.0.2.1:1234"
	if !d.open {
		r.Header.Set("Authorization", "Bearer "+s.token)
	}
	if d.media == "" && !strings.HasPrefix(path, "/api/") {
		r.Header.Set("Content-Type", formMedia)
	}
	return r
}

// Whatever a browser sends as a passkey opens nothing, and is no bug.
func FuzzPasskey(f *testing.F) {
	challenge := `{"type":"webauthn.get","challenge":"AAAA","origin":"http://localhost"}`
	client := base64.RawURLEncoding.EncodeToString([]byte(challenge))
	for _, data := range []string{"", "AAAA", strings.Repeat("A", 50), base64.RawURLEncoding.EncodeToString(append(make([]byte, 32), 0x45, 0, 0, 0, 1))} {
		f.Add(`{"id":"AA","rawId":"AA","type":"public-key","response":{"clientDataJSON":"` + client + `","authenticatorData":"` + data + `","signature":"AA","userHandle":"AA"}}`)
		f.Add(`{"id":"AA","rawId":"AA","type":"public-key","response":{"clientDataJSON":"` + client + `","attestationObject":"` + data + `"}}`)
	}
	f.Add(`{"id":"AA","rawId":"AA","type":"public-key","response":{"clientDataJSON":"` + client + `","attestationObject":"o2NmbXRkbm9uZWdhdHRTdG10oGhhdXRoRGF0YUEA"}}`)
	f.Add(`[]`)
	f.Fuzz(func(t *testing.T, credential string) {
		protocol.ParseCredentialCreationResponseBytes([]byte(credential)) // asked for where somebody is signed in
		s := newMemorySite(t)
		r := httptest.NewRequest("POST", "http://localhost/enter/passkey", strings.NewReader(`{"credential":`+credential+`}`))
		w := httptest.NewRecorder()
		s.app.ServeHTTP(w, r)
		if w.Code < 400 || w.Code == http.StatusInternalServerError || strings.Contains(s.log.String(), "panic") {
			t.Errorf("status %d\n%s", w.Code, s.log)
		}
	})
}
