//go:build bench

package bench

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	mathrand "math/rand/v2"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/events/s3photos"
	"relevel/events/s3photos/s3test"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server"
	"relevel/server/pictures"
)

// site is a server as it runs in earnest: durable Postgres, a real bucket, HTTP
// on the loopback.
type site struct {
	db      *pgtest.DB
	bucket  s3photos.Config
	log     events.Log
	store   jobs.Store
	firm    events.ID
	token   string
	more    []string // further tokens, which take turns with it
	session string   // of a person, who then asks in place of the tokens

	visit   *http.Cookie // of an owner, who then asks in place of both
	address string
	client  *http.Client
	callers *callers
}

func start(t *testing.T) *site {
	s := &site{db: pgtest.Own(t), bucket: s3test.Start(t), firm: newID()}
	objects, err := s3photos.New(s.bucket)
	if err != nil {
		t.Fatal(err)
	}
	if err := objects.EnsureBucket(t.Context()); err != nil {
		t.Fatal(err)
	}
	s.log, s.store = pglog.New(s.db.App), pgjobs.New(s.db.App)
	photos := &events.Photos{Objects: objects, Ledger: pglog.NewLedger(s.db.App), Spool: t.TempDir()}
	app := server.New(server.Config{
		Log: s.log, Store: s.store, Photos: photos, Album: pictures.NewAlbum(photos, pictures.NewMaker(0)),
		Limits: server.Limits{Rate: 1e9, Burst: 1e9},
	})
	t.Cleanup(app.Close)
	web := httptest.NewServer(app)
	t.Cleanup(web.Close)
	s.address = web.URL
	s.client = &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 64}}
	s.callers = &callers{address: web.Listener.Addr().String()}
	t.Cleanup(s.callers.close)
	s.enter(t)
	return s
}

// enter makes the firm and its token.
func (s *site) enter(t *testing.T) {
	must(t, s.store.CreateFirm(t.Context(), jobs.Firm{ID: s.firm, Name: "Bench", Words: jobs.Australia, CreatedAt: time.Now().UTC()}))
	s.token, s.more = s.newToken(t, "bench"), nil
}

// newToken makes a token of the firm that opens everything.
func (s *site) newToken(t *testing.T, name string) string {
	text, hash, err := jobs.NewToken(s.firm, rand.Reader)
	must(t, err)
	must(t, s.store.CreateToken(t.Context(), jobs.Token{Firm: s.firm, ID: newID(), Hash: hash, Name: name, Scope: jobs.ScopeEverything, CreatedAt: time.Now().UTC()}))
	return text
}

// another is a firm of its own on the same server.
func (s *site) another(t *testing.T) *site {
	other := *s
	other.firm, other.session = newID(), ""
	other.enter(t)
	return &other
}

// as is the same site for a person of a role, who is signed in.
func (s *site) as(t *testing.T, role jobs.Role) *site {
	text, hash, err := jobs.NewSession(s.firm, rand.Reader)
	must(t, err)
	now := time.Now().UTC()
	one := jobs.Person{Firm: s.firm, ID: newID(), Name: "Ada", Role: role, CreatedAt: now}
	must(t, s.store.CreatePerson(t.Context(), one))
	must(t, s.store.CreateSession(t.Context(), jobs.Session{
		Firm: s.firm, ID: newID(), Hash: hash, Person: one.ID, CreatedAt: now, SeenAt: now, ExpiresAt: now.Add(jobs.SessionLasts),
	}, ""))
	other := *s
	other.session = text
	return &other
}

// identify says who asks.
func (s *site) identify(r *http.Request) {
	if s.visit != nil {
		r.AddCookie(s.visit)
		return
	}
	if s.session != "" {
		r.AddCookie(&http.Cookie{Name: "relevel", Value: s.session})
		return
	}
	r.Header.Set("Authorization", "Bearer "+s.anyToken())
}

// anyToken is one of the firm's.
func (s *site) anyToken() string {
	if at := mathrand.IntN(len(s.more) + 1); at < len(s.more) {
		return s.more[at]
	}
	return s.token
}

// job is a surveyed job of forty supports that one device records.
type job struct {
	mu     sync.Mutex
	id     events.ID
	device events.ID
	setup  events.ID
	count  int64
}

func (s *site) newJob(t *testing.T) *job {
	j := &job{id: newID(), device: newID()}
	must(t, s.log.Create(t.Context(), s.firm, j.id))
	must(t, s.store.CreateJob(t.Context(), jobs.Job{Firm: s.firm, ID: j.id, Name: "House", Zone: "UTC", CreatedAt: time.Now().UTC()}))
	plan := events.Plan{Datums: []events.Datum{{ID: "D1", X: -1, Height: length(0)}}}
	for b := range 4 {
		bearer := events.Bearer{ID: fmt.Sprintf("B%d", b+1)}
		for n := range 10 {
			id := fmt.Sprintf("B%d-%d", b+1, n+1)
			plan.Supports = append(plan.Supports, events.Support{ID: id, X: float64(n) * 1.8, Y: float64(b) * 2.4})
			bearer.Supports = append(bearer.Supports, id)
		}
		plan.Bearers = append(plan.Bearers, bearer)
	}
	batch := []json.RawMessage{s.event(j, events.KindPlan, plan)}
	batch = append(batch, s.event(j, events.KindSetup, events.Setup{Instrument: "laser", Datums: []events.DatumReading{{Datum: "D1", Staff: length(1000)}}}))
	for _, p := range plan.Supports {
		batch = append(batch, s.reading(j, p.ID))
	}
	batch = append(batch, s.event(j, events.KindAim, events.Aim{Aim: events.AimLevel, Height: length(0), AgreedBy: "owner", Face: events.BearerFace}))
	must(t, s.post(j, batch))
	return j
}

// event makes the next event of a job's device.
func (s *site) event(j *job, kind events.Kind, body any) json.RawMessage {
	raw, _ := json.Marshal(body)
	j.count++
	offset := int64(0)
	e := events.Event{
		ID: newID(), Job: j.id, Kind: kind, V: 1, At: time.Now(), OffsetMS: &offset, ClockSession: "a",
		Device: j.device, DeviceSeq: j.count, SeenSeq: j.count - 1, By: s.firm, Body: raw,
	}
	if kind == events.KindSetup {
		j.setup = e.ID
	}
	out, _ := json.Marshal(e)
	return out
}

func (s *site) reading(j *job, point string) json.RawMessage {
	return s.event(j, events.KindReading, events.Reading{Setup: j.setup, Point: point, Face: events.BearerFace, Staff: length(1010 + float64(j.count%2))})
}

// read appends one reading and takes the new figures.
func (s *site) read(j *job) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	return s.post(j, []json.RawMessage{s.reading(j, fmt.Sprintf("B%d-%d", j.count%4+1, j.count%10+1))})
}

// fill brings a job to a number of events.
func (s *site) fill(t *testing.T, j *job, length int) {
	for int(j.count) < length {
		var batch []json.RawMessage
		for len(batch) < events.MaxBatchEvents && int(j.count) < length {
			batch = append(batch, s.reading(j, fmt.Sprintf("B%d-%d", j.count%4+1, j.count%10+1)))
		}
		must(t, s.post(j, batch))
	}
}

func (s *site) post(j *job, batch []json.RawMessage) error {
	body := []byte(`{"events":[`)
	for i, raw := range batch {
		if i > 0 {
			body = append(body, ',')
		}
		body = append(body, raw...)
	}
	answer, err := s.do(http.MethodPost, "/api/v1/jobs/"+j.id.String()+"/events", "application/json", append(body, "]}"...))
	if err == nil && stored(answer) != len(batch) {
		err = fmt.Errorf("append: %s", answer)
	}
	return err
}

func (s *site) do(method, path, media string, body []byte) ([]byte, error) {
	who := "Authorization: Bearer " + s.anyToken()
	if s.session != "" {
		who = "Cookie: relevel=" + s.session
	}
	return s.callers.ask(method, path, []string{who, "Content-Type: " + media}, body)
}

// madeLink is an owner's link.
type madeLink struct{ Link, Code string }

// makeLink makes an owner's link of a job.
func (s *site) makeLink(t *testing.T, job events.ID) (made madeLink) {
	answer, err := s.do("POST", "/api/v1/jobs/"+job.String()+"/shares", "application/json", []byte(`{"name":"the owner"}`))
	must(t, err)
	must(t, json.Unmarshal(answer, &made))
	return made
}

func (s *site) putPhoto(photo []byte) error {
	sum := sha256.Sum256(photo)
	_, err := s.do(http.MethodPut, fmt.Sprintf("/api/v1/photos/%x", sum), events.MediaJPEG, photo)
	return err
}

// photoOf makes a megabyte that begins like a JPEG, another one for each number.
func photoOf(n int) []byte {
	photo := make([]byte, 1<<20)
	rand.Read(photo)
	copy(photo, "\xff\xd8\xff\xe0")
	return photo
}

func newID() events.ID { return mustID(events.NewID(time.Now(), rand.Reader)) }

func mustID(id events.ID, err error) events.ID {
	if err != nil {
		panic(err)
	}
	return id
}

func length(mm float64) *events.Length {
	l := events.MM(mm)
	return &l
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
