package server_test

import (
	"crypto/rand"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/events/proof"
	"relevel/server"
	"relevel/server/signing"
	"relevel/server/tasks/pgtasks"
)

// testRing is the ring of all servers under test.
var testRing = sync.OnceValue(func() *signing.Ring {
	folder, err := os.MkdirTemp("", "keys-")
	if err != nil {
		panic(err)
	}
	endings = append(endings, func() { os.RemoveAll(folder) })
	ring, err := signing.OpenRing(filepath.Join(folder, "keys"), "relevel.example", time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), rand.Reader)
	if err != nil {
		panic(err)
	}
	return ring
})

// signs lets a site sign soon after each append.
func signs(c *server.Config) { c.Keys, c.SignAfter = testRing(), time.Millisecond }

// signedSize is how many records every world has when it is signed.
const signedSize = 14

// fillSigned signs what a world recorded, as a server does behind its answers, and
// keeps a finding about a checkpoint that nobody has.
func (w *world) fillSigned(t *testing.T, s *site) {
	t.Helper()
	signer := &signing.Signer{Log: pglog.New(s.db.App), Store: pgproof.New(s.db.App), Ring: testRing(), Now: w.clock.now, Logger: slog.New(slog.DiscardHandler)}
	k, err := signer.Sign(t.Context(), w.firm, mustID(t, w.names["job"]))
	must(t, err)
	if k.Size != signedSize {
		t.Fatalf("%d records are signed, and a door asks for %d", k.Size, signedSize)
	}
	_, err = signer.SignFirm(t.Context(), w.firm)
	must(t, err)
	must(t, signer.Store.KeepFault(t.Context(), proof.Fault{Firm: w.firm, Job: mustID(t, w.names["closed_job"]), Held: 7, Size: 3, Why: "why " + w.word, At: w.clock.now()}))
}

// text asks for plain text.
func (c *caller) text(path string) string {
	c.t.Helper()
	a := c.send("GET", path, nil).want(c.t, 200, nil)
	if got := a.header.Get("Content-Type"); got != "text/plain; charset=utf-8" {
		c.t.Errorf("GET %s is %s", path, got)
	}
	return string(a.body)
}

// checkpoint waits until so many records are signed.
func (c *caller) checkpoint(job events.ID, size int64) proof.Signed {
	c.t.Helper()
	for range 200 {
		if a := c.send("GET", "/jobs/"+job.String()+"/checkpoint", nil); a.status == http.StatusOK {
			s, err := proof.Open(a.body, c.keys()...)
			must(c.t, err)
			if s.Size >= size {
				return s
			}
		}
		time.Sleep(50 * time.Millisecond)
	}
	c.t.Fatalf("%d records are not signed", size)
	return proof.Signed{}
}

// keys asks for the public keys as anybody may.
func (c *caller) keys() []note.Verifier {
	c.t.Helper()
	resp, err := http.Get(c.url + "/keys")
	must(c.t, err)
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	must(c.t, err)
	keys, err := proof.ParseKeys(string(body))
	must(c.t, err)
	known, err := proof.Verifiers(keys)
	must(c.t, err)
	return known
}

// leavesOf are the leaves of a job's log, as anybody can reckon them anew from what is
// handed out.
func (c *caller) leavesOf(job events.ID) (leaves []events.Hash) {
	c.t.Helper()
	var book struct {
		Events []struct {
			Seq  int64       `json:"seq"`
			Leaf events.Hash `json:"leaf"`
		} `json:"events"`
	}
	c.get("/jobs/"+job.String()+"/events?exact=1&limit=1000", &book)
	for _, e := range book.Events {
		leaves = append(leaves, e.Leaf)
	}
	return leaves
}

// Checkpoints follow what is recorded; records are in them, and each continues the
// others, which anybody can check with what the server hands out.
func TestCheckpoints(t *testing.T) {
	c := newSite(t, signs).firm("one")
	job := c.newJob()
	d := newDevice(t, job)
	path := "/jobs/" + job.String()
	c.send("GET", path+"/checkpoint", nil).problem(t, 404, "")
	var all []proof.Signed
	for n := range 4 {
		raws := make([]string, n+1)
		for i := range raws {
			raws[i] = d.raw("note", `{"text":"seen"}`)
		}
		seq := c.post(job, raws...).Seq
		all = append(all, c.checkpoint(job, seq))
	}
	leaves, last := c.leavesOf(job), all[len(all)-1]
	if last.Size != 10 || proof.NewTree(leaves).Agrees(last.Checkpoint) != nil || last.Origin != proof.JobOrigin("relevel.example", c.firm, job) {
		t.Errorf("%+v is not what is in the book", last)
	}
	for _, under := range all {
		at := fmt.Sprint(under.Size)
		if got := c.text(path + "/checkpoints/" + at); got != string(under.Note) {
			t.Errorf("the checkpoint of %s records is now\n%s", at, got)
		}
		for seq := int64(1); seq <= under.Size; seq++ {
			p, err := proof.ParseInclusion(c.text(fmt.Sprintf("%s/proof/inclusion?seq=%d&size=%s", path, seq, at)))
			must(t, err)
			if s, err := p.Check(leaves[seq-1], c.keys()...); err != nil || s.Size != under.Size {
				t.Errorf("record %d of %s: %v", seq, at, err)
			}
		}
		p, err := proof.ParseConsistency(c.text(fmt.Sprintf("%s/proof/consistency?from=%s", path, at)))
		must(t, err)
		shown, err := proof.Open(p.Checkpoint, c.keys()...)
		must(t, err)
		if err := p.Joins(under.Checkpoint, shown.Checkpoint); err != nil || shown.Size != 10 {
			t.Errorf("from %s: %v", at, err)
		}
	}
	c.wrongProofs(path)
}

func (c *caller) wrongProofs(path string) {
	c.t.Helper()
	for ask, field := range map[string]string{
		"/proof/inclusion?seq=11": "seq", "/proof/inclusion": "seq", "/proof/inclusion?seq=x": "seq", "/proof/inclusion?seq=1&size=-1": "size",
		"/proof/consistency?from=11": "from", "/proof/consistency?from=1&to=x": "to", "/proof/consistency?from=9007199254740993": "from",
	} {
		c.send("GET", path+ask, nil).problem(c.t, 422, field)
	}
	for _, ask := range []string{"/checkpoints/0", "/checkpoints/x", "/checkpoints/4000", "/proof/inclusion?seq=1&size=4000", "/proof/consistency?from=1&to=4000"} {
		c.send("GET", path+ask, nil).problem(c.t, 404, "")
	}
	c.send("GET", "/jobs/"+newID(c.t).String()+"/checkpoint", nil).problem(c.t, 404, "")
}

// What comes close together is signed together, and the last of it always is.
func TestCheckpointsAreMerged(t *testing.T) {
	s := newSite(t, signs, func(c *server.Config) { c.SignAfter = time.Second })
	c := s.firm("one")
	job := c.newJob()
	d := newDevice(t, job)
	const records = 60
	for range records {
		c.post(job, d.raw("note", `{"text":"seen"}`))
	}
	c.checkpoint(job, records)
	n := s.count(`SELECT count(*) FROM checkpoint WHERE job = $1`, job.String())
	if took := time.Since(d.at); n > 2+int(took/time.Second) {
		t.Errorf("%d checkpoints of %d records", n, records)
	}
}

// count asks the database past all fences.
func (s *site) count(sql string, args ...any) (n int) {
	s.t.Helper()
	conn, err := pgx.Connect(s.t.Context(), s.db.DSN(localpg.Superuser))
	must(s.t, err)
	defer conn.Close(s.t.Context())
	must(s.t, conn.QueryRow(s.t.Context(), sql, args...).Scan(&n))
	return n
}

// What no queue knows of is found by the look over all heads: here by a server that was
// not there when it was recorded.
func TestUnsignedHeadsAreFound(t *testing.T) {
	db := pgtest.New(t)
	c := newSiteOn(t, db).firm("one")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("note", `{"text":"seen"}`), d.raw("note", `{"text":"seen"}`))
	c.send("GET", "/jobs/"+job.String()+"/checkpoint", nil).problem(t, 404, "")
	later := newSiteOn(t, db, signs, func(c *server.Config) {
		c.Tasks = pgtasks.New(db.App, db.Open(pgdb.Worker), time.Now, rand.Reader)
	})
	c = c.at(later)
	c.checkpoint(job, 2)
	// The firm's log follows.
	for range 100 {
		if a := c.send("GET", "/checkpoint", nil); a.status == http.StatusOK {
			c.wantFirmLog(string(a.body), job, 2)
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Error("the firm's log is not signed")
}

func (c *caller) wantFirmLog(note string, job events.ID, size int64) {
	c.t.Helper()
	s, err := proof.Open([]byte(note), c.keys()...)
	must(c.t, err)
	var log struct {
		Entries []struct {
			Seq  int64
			Job  events.ID
			Size int64
			Leaf events.Hash
			Note string
		}
	}
	c.get("/checkpoints", &log)
	if len(log.Entries) != 1 || log.Entries[0].Job != job || log.Entries[0].Size != size {
		c.t.Fatalf("%+v", log)
	}
	leaf := tlog.RecordHash([]byte(log.Entries[0].Note))
	if leaf != log.Entries[0].Leaf || proof.NewTree([]events.Hash{leaf}).Agrees(s.Checkpoint) != nil || s.Origin != proof.FirmOrigin("relevel.example", c.firm) {
		c.t.Errorf("%+v is not of %+v", s, log)
	}
}

// Whoever has the database in hand changes a record: the server signs no more, says so
// on the page of the job and in its log, and gives no proof.
func TestAChangedRecordIsSaid(t *testing.T) {
	s := newSiteOn(t, pgtest.New(t), signs)
	b := newBrowser(t, s)
	c, d := b.caller, newDevice(t, b.job)
	seq := c.post(b.job, d.raw("note", `{"text":"seen"}`)).Seq
	c.checkpoint(b.job, seq)
	conn := s.db.Connect(localpg.Superuser)
	for _, statement := range []string{
		`ALTER TABLE event DISABLE TRIGGER ALL`, `UPDATE event SET leaf = sha256('x') WHERE seq = 1`,
		`UPDATE head SET root = sha256('x')`, `ALTER TABLE event ENABLE ALWAYS TRIGGER event_unchanged`,
	} {
		_, err := conn.Exec(t.Context(), statement)
		must(t, err)
	}
	if page := b.get(b.page("")); strings.Contains(page, "does not agree") {
		t.Error("said before anybody looked")
	}
	c.send("GET", "/jobs/"+b.job.String()+"/proof/inclusion?seq=1", nil).problem(t, 409, "")
	c.post(b.job, d.raw("note", `{"text":"seen too"}`))
	for _, page := range []string{b.page(""), b.page("/checkpoint")} {
		b.until(page, "The record does not agree with what was signed.")
	}
	time.Sleep(200 * time.Millisecond)
	if signed := c.checkpoint(b.job, seq); signed.Size != seq {
		t.Errorf("it was signed on, to %d", signed.Size)
	}
	if logged := s.log.String(); !strings.Contains(logged, `"level":"ERROR","msg":"a log does not agree with what was signed"`) {
		t.Errorf("logged:\n%s", logged)
	}
}

// Erasing takes bytes and salts; leaves stay, and with them every checkpoint and proof.
func TestProofsOutliveBytes(t *testing.T) {
	s := newSiteOn(t, pgtest.New(t), signs)
	c := s.firm("one")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("note", `{"text":"a name"}`), d.raw("note", `{"text":"seen"}`))
	held := c.checkpoint(job, 2)
	conn := s.db.Connect(pgdb.Eraser)
	_, err := conn.Exec(t.Context(), `SELECT set_config('app.firm', $1, false)`, c.firm.String())
	must(t, err)
	tag, err := conn.Exec(t.Context(), `DELETE FROM event_bytes WHERE job = $1 AND seq = 1`, job.String())
	if err != nil || tag.RowsAffected() != 1 {
		t.Fatalf("%v, %v", tag, err)
	}
	c.post(job, d.raw("note", `{"text":"seen too"}`))
	c.checkpoint(job, 3)
	p, err := proof.ParseConsistency(c.text("/jobs/" + job.String() + "/proof/consistency?from=2"))
	must(t, err)
	shown, err := proof.Open(p.Checkpoint, c.keys()...)
	must(t, err)
	must(t, p.Joins(held.Checkpoint, shown.Checkpoint))
	in, err := proof.ParseInclusion(c.text("/jobs/" + job.String() + "/proof/inclusion?seq=1"))
	must(t, err)
	must(t, in.In(shown.Checkpoint, c.leavesOf(job)[0]))
}

// A server without keys signs nothing and says so.
func TestNothingIsSignedWithoutKeys(t *testing.T) {
	s := newSite(t)
	b := newBrowser(t, s)
	for _, path := range []string{"/jobs/" + b.job.String() + "/checkpoint", "/jobs/" + b.job.String() + "/proof/consistency?from=1", "/checkpoint"} {
		b.caller.send("GET", path, nil).problem(t, 404, "")
	}
	if page := b.get(b.page("/checkpoint")); !strings.Contains(page, "signs nothing") {
		t.Errorf("the page says %s", page)
	}
	resp, err := http.Get(s.URL + "/keys")
	must(t, err)
	resp.Body.Close()
	if resp.StatusCode != http.StatusNotFound {
		t.Errorf("keys: status %d", resp.StatusCode)
	}
}
