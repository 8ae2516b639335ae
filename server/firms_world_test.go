package server_test

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"maps"
	"net/http"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server"
	"relevel/server/tasks"
)

// handClock is a server's clock that a test moves on.
type handClock struct{ ms atomic.Int64 }

func newHandClock() *handClock {
	c := &handClock{}
	c.ms.Store(time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC).UnixMilli())
	return c
}

func (c *handClock) now() time.Time { return time.UnixMilli(c.ms.Load()).UTC() }

// tick goes on a little: ten minutes, after which codes are forgotten, take long.
func (c *handClock) tick() { c.ms.Add(100) }

// world is a firm with one of everything, and the names of all of it. Its word
// stands in every text there is, so that it is known wherever it turns up.
type world struct {
	*caller
	clock *handClock
	word  string
	names map[string]string // "job" → its id
	told  map[string]bool   // the names of another world that this one has asked with

	store   jobs.Store
	account jobs.Account   // of somebody who signs in
	sitting events.ID      // their session
	own     []*http.Cookie // of their browser
}

// placeholder is a name in a request that is filled in from a world: "{job}".
var placeholder = regexp.MustCompile(`\{([a-z_]+)\}`)

// nobody names what no firm has, each name of the form that another's has.
func nobody(t *testing.T, like *world) *world {
	t.Helper()
	w := &world{word: randomWord(t), names: map[string]string{}}
	for key, name := range like.names {
		switch {
		case len(name) == 64:
			w.names[key] = randomHex(t, 32)
		case key == "word":
			w.names[key] = w.word
		case strings.HasSuffix(key, "support"):
			w.names[key] = name[:3] + randomHex(t, 4)
		default:
			w.names[key] = newID(t).String()
		}
	}
	return w
}

func mustID(t *testing.T, text string) events.ID {
	t.Helper()
	id, err := events.ParseID(text)
	must(t, err)
	return id
}

func randomWord(t *testing.T) string { return "w" + randomHex(t, 6) }

func randomHex(t *testing.T, n int) string {
	t.Helper()
	b := make([]byte, n)
	_, err := rand.Read(b)
	must(t, err)
	return hex.EncodeToString(b)
}

// newWorld makes a firm and fills it. The clock goes on with each step, so that
// what was made first is older in every world.
func newWorld(t *testing.T, s *site, clock *handClock) *world {
	t.Helper()
	return newWorldCalled(t, s, clock, randomWord(t), "B1-"+randomHex(t, 4), "B2-"+randomHex(t, 4)) // in this order in every world
}

// newWorldCalled makes a firm of which one knows the word and two supports.
func newWorldCalled(t *testing.T, s *site, clock *handClock, word, support, other string) *world {
	t.Helper()
	store := pgjobs.New(s.db.App)
	w := &world{
		caller: newFirmAt(t, store, s.URL, "firm "+word, clock.now()), clock: clock, word: word, names: map[string]string{}, told: map[string]bool{}, store: store,
	}
	for _, key := range []string{
		"job", "closed_job", "crew", "person", "signer", "profile_id", "jack_id", "laser_id", "phone", "form", "note", "stop", "finding", "change", "hook", "calendar", "share",
	} {
		w.names[key] = newID(t).String()
		time.Sleep(time.Millisecond) // ids have an order, the same in every world
	}
	w.names["word"] = word
	w.names["support"], w.names["other_support"] = support, other
	for _, step := range []func(*testing.T){w.fillFirm, w.fillAccount, w.fillFiles, w.fillJob, w.fillLate} {
		clock.tick()
		step(t)
	}
	w.fillSigned(t, s)
	w.fillPack(t)
	w.renew(t)
	return w
}

// fillPack has a pack made of the job, and waits for it.
func (w *world) fillPack(t *testing.T) {
	t.Helper()
	if a := w.visit(t, "POST", "/jobs/{job}/pack", "paper=Letter"); a.status != 303 {
		t.Fatalf("status %d, want a pack asked for: %s", a.status, a.body)
	}
	w.names["pack"] = madePack(t, w.store, w.firm, mustID(t, w.names["job"])).ID.String()
}

// add sends what is to be there.
func (w *world) add(t *testing.T, method, path, body string, headers ...string) answer {
	t.Helper()
	a := w.send(method, w.fill(path), []byte(w.fill(body)), headers...)
	if a.status >= 300 {
		t.Fatalf("%s %s: status %d: %s", method, path, a.status, a.body)
	}
	return a
}

func (w *world) fillFirm(t *testing.T) {
	w.add(t, "POST", "/people", `{"id":"{person}","name":"person {word}","role":"site-lead"}`)
	w.add(t, "POST", "/crews", `{"id":"{crew}","name":"crew {word}"}`)
	w.add(t, "POST", "/profiles", `{"id":"{profile_id}","name":"{word}","title":"title {word}","source":"source {word}","limits":[{"kind":"range","limit_mm":20}]}`)
	w.add(t, "POST", "/jacks", `{"id":"{jack_id}","name":"jack {word}","rated_kn":50,"note":"note {word}"}`)
	w.add(t, "POST", "/lasers", `{"id":"{laser_id}","name":"laser {word}","note":"note {word}"}`)
	w.add(t, "POST", "/jobs", `{"id":"{closed_job}","name":"closed {word}","zone":"Australia/Sydney"}`)
	w.add(t, "POST", "/jobs/{closed_job}/closing", `{"closed":true,"why":"done {word}","by":"{person}","seq":0}`)
	w.clock.tick()
	w.add(t, "POST", "/hooks", `{"id":"{hook}","name":"hook {word}","url":"https://office.example/{word}","happenings":["job-closed"]}`)
	w.add(t, "POST", "/practice", `{"step_mm":5,"neighbour_mm":20}`)
	w.add(t, "POST", "/jobs", `{"id":"{job}","name":"job {word}","place":"place {word}","zone":"Australia/Sydney","crew":"{crew}"}`)
}

// A photo and a sound that end with the word: decoders stop before it.
func (w *world) fillFiles(t *testing.T) {
	photo := append(smallJPEG(t), w.word...)
	w.names["photo"] = sha(photo)
	w.add(t, "PUT", "/photos/{photo}", string(photo), "Content-Type", "image/jpeg")
	sound := append(smallSound(), "\x00\x00\x00\x15free"+w.word...)
	w.names["sound"] = sha(sound)
	w.add(t, "PUT", "/photos/{sound}", string(sound), "Content-Type", "audio/mp4")
}

// A job in the middle of its work, in which everything was recorded that has words.
func (w *world) fillJob(t *testing.T) {
	job := mustID(t, w.names["job"])
	d := newDevice(t, job)
	d.by, d.id, d.at = mustID(t, w.names["person"]), mustID(t, w.names["phone"]), w.clock.now().Add(-time.Hour)
	record := func(kind, body string) string {
		id, raw := d.event(kind, w.fill(body))
		if named, ok := w.names[kind]; ok {
			raw = strings.Replace(raw, id.String(), named, 1)
		} else {
			w.names[kind] = id.String()
		}
		w.post(job, raw)
		return raw
	}
	record("plan", `{"supports":[{"id":"{support}","x":1,"y":1},{"id":"{other_support}","x":3,"y":1}],"spots":[{"id":"spot {word}","x":2,"y":2}],
		"datums":[{"id":"datum {word}","x":0,"y":0,"height":0,"off_building":true,"stands_on":"step {word}"}],"bearers":[{"id":"bearer {word}","supports":["{support}","{other_support}"]}],
		"rooms":[{"name":"room {word}","outline":[[0,0],[4,0],[4,2],[0,2]]}]}`)
	record("aim", `{"aim":"level","height":0,"face":"floor","tolerance":{"profile":"{word}","within_mm":2},"step_mm":5,"neighbour_mm":20,"agreed_by":"owner {word}"}`)
	record("setup", `{"instrument":"laser {word}","datums":[{"datum":"datum {word}","staff":1000}]}`)
	record("reading", `{"setup":"{setup}","point":"{support}","face":"floor","staff":1012}`)
	record("condition", `{"room":"room {word}","walls":"walls {word}"}`)
	record("tie", `{"tie":"tie {word}","what":"pipe {word}","where":"where {word}","supports":["{support}"]}`)
	record("floor-cut", `{"cut":"cut {word}","where":"where {word}","layers":["boards {word}"]}`)
	record("finding", `{"what":"sunk {word}","cause":"gutter {word}","supports":["{other_support}"]}`)
	record("stop", `{"why":"crack {word}","supports":["{other_support}"],"ask":"engineer {word}"}`)
	record("change", `{"text":"change {word}","amount":12}`)
	record("gap-reading", `{"gap":"gap {word}","what":"crack","width":0.5,"near":"{support}"}`)
	record("day-end", `{"left":["left {word}"],"done":"done {word}","out":true}`)
	w.note(t, d)
}

// note carries the photo and the sound.
func (w *world) note(t *testing.T, d *device) {
	t.Helper()
	_, raw := d.event("note", w.fill(`{"text":"note {word}","supports":["{support}"]}`))
	files := w.fill(`,"files":[{"type":"photo","sha256":"{photo}","bytes":1,"media_type":"image/jpeg","subject":"subject {word}","stage":"before"},
		{"type":"sound","sha256":"{sound}","bytes":1,"media_type":"audio/mp4"}]}`)
	w.post(d.job, strings.TrimSuffix(raw, "}")+files)
}

// What phones and desks leave beside the log.
func (w *world) fillLate(t *testing.T) {
	if a := w.send("POST", w.fill("/jobs/{job}/events"), []byte("apart "+w.word)); a.status != 400 {
		t.Fatalf("status %d, want it kept apart: %s", a.status, a.body)
	}
	w.add(t, "POST", "/phone/report", `{"device":"{phone}","version":"v {word}","unsent":1,"photos":0}`)
	w.visit(t, "POST", "/calendars", "id={calendar}&name=calendar+{word}&crew={crew}")
	w.fillHook(t)
	w.fillShare(t)
	w.keepApart(t)
	w.add(t, "POST", "/quarantine/{other_kept}/decisions", `{"what":"set-aside","why":"why {word}","by":"{person}"}`)
	w.visit(t, "GET", "/closed", "") // of a job without events the row is made when it is looked at
	a := w.visit(t, "POST", "/jobs/{job}/record/note", "form={form}&recorder={person}&text=desk+{word}")
	if a.status != 303 {
		t.Fatalf("status %d, want it recorded: %s", a.status, a.body)
	}
}

// renew makes what requests use up: a device that can be revoked, things kept apart
// that are decided about, and what an account has.
func (w *world) renew(t *testing.T) {
	t.Helper()
	var made struct{ Access string }
	w.send("POST", "/pair", fmt.Appendf(nil, `{"code":%q,"device":"phone %s"}`, w.code(t), w.word)).want(t, 201, &made)
	w.names["device"] = made.Access
	w.keepApart(t)
	w.renewAccount(t)
}

// code makes a pairing code.
func (w *world) code(t *testing.T) string {
	t.Helper()
	var made struct{ Code string }
	w.send("POST", "/pairings", nil).want(t, 201, &made)
	return made.Code
}

// What every world has a row of, and what it has none of and why. A digest of nothing
// shows nothing.
func TestWorldHasAll(t *testing.T) {
	clock := newHandClock()
	s := newSite(t, withClock(clock))
	w := newWorld(t, s, clock)
	none := map[string]string{
		"task":    "what is to be done behind the requests, by ids: these servers keep it in memory",
		"device":  "nothing is kept there: phones report to another table",
		"pairing": "codes: used up as soon as they were made",
	}
	for table, digest := range s.everythingOf(t, w) {
		if empty := strings.HasPrefix(digest, "0 rows"); empty != (none[table] != "") {
			t.Errorf("%s: %s", table, digest)
		}
	}
}

// visit asks for a page as this firm.
func (w *world) visit(t *testing.T, method, path, form string) answer {
	t.Helper()
	return w.ask(t, request{method: method, path: path, body: form, media: formMedia}, w.names)
}

// fill puts the world's own names in.
func (w *world) fill(text string) string { return fill(text, w.names) }

func fill(text string, names map[string]string) string {
	return placeholder.ReplaceAllStringFunc(text, func(key string) string {
		if name, ok := names[key[1:len(key)-1]]; ok {
			return name
		}
		return key
	})
}

// with are the world's names, some of them another's.
func (w *world) with(other *world, keys ...string) map[string]string {
	names := maps.Clone(w.names)
	for _, key := range keys {
		names[key], w.told[key] = other.names[key], true
	}
	return names
}

// withClock lets a site go by a clock of the test, and lets nobody wait.
func withClock(clock *handClock) func(*server.Config) {
	return func(c *server.Config) {
		c.Now = clock.now
		c.Tasks = ownTasks{tasks.NewMemory()}
		c.Keys, c.SignAfter = testRing(), time.Hour // nothing is signed by itself
		c.Limits.Rate, c.Limits.Pairs, c.Limits.Doors = -1, 1<<20, 1<<20
	}
}

// ownTasks is a queue that no other test's server works on.
type ownTasks struct{ *tasks.Memory }

func (ownTasks) Heads(context.Context) ([]jobs.Reached, error) { return nil, nil }
