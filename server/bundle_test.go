package server_test

import (
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/events/proof"
	"relevel/jobs/bundle"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// madeJob is a job with a photo and a checkpoint, and what the server makes of it.
type madeJob struct {
	*browser
	d     *device
	photo []byte
}

func newMadeJob(t *testing.T, s *site) madeJob {
	t.Helper()
	b := madeJob{browser: newBrowser(t, s), photo: picture(t)}
	b.d = newDevice(t, b.job)
	b.d.by = b.person
	setup, raw := b.d.setup()
	sum := sha(b.photo)
	b.caller.send("PUT", "/photos/"+sum, b.photo, "Content-Type", "image/jpeg").want(t, 200, nil)
	shown := b.d.raw("note", `{"text":"a photo"}`)
	shown = shown[:len(shown)-1] + fmt.Sprintf(`,"files":[{"type":"photo","sha256":%q,"bytes":%d,"media_type":"image/jpeg"}]}`, sum, len(b.photo))
	b.caller.post(b.job, raw, b.d.reading(setup, "B1-1", 1012), b.d.raw("note", `{ "text" : "two  spaces" }`), shown)
	b.sign(t, s)
	return b
}

// sign keeps a signed checkpoint of the job as it is.
func (b madeJob) sign(t *testing.T, s *site) {
	t.Helper()
	head, err := pglog.New(s.db.App).Head(t.Context(), b.caller.firm, b.job)
	must(t, err)
	store := pgproof.New(s.db.App)
	_, verifier := testKey(t)
	must(t, store.KeepKey(t.Context(), proof.PublicKey{Verifier: verifier, From: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)}))
	must(t, store.KeepCheckpoint(t.Context(), b.caller.firm, b.job, proof.Kept{Size: head.Seq, Frontier: head.Frontier, Note: b.note(t, head.Seq, head.Root), At: b.d.at}))
}

// note is a signed checkpoint of the job.
func (b madeJob) note(t *testing.T, size int64, root events.Hash) []byte {
	t.Helper()
	secret, _ := testKey(t)
	signer, err := note.NewSigner(secret)
	must(t, err)
	signed, err := proof.Sign(proof.Checkpoint{Origin: proof.JobOrigin("levels.example", b.caller.firm, b.job), Size: size, Root: root}, signer)
	must(t, err)
	return signed
}

// testKey is the same key each time.
var testKey = func() func(t *testing.T) (secret, verifier string) {
	made := sync.OnceValues(func() ([2]string, error) {
		secret, verifier, err := proof.GenerateKey(rand.Reader, "levels.example")
		return [2]string{secret, verifier}, err
	})
	return func(t *testing.T) (secret, verifier string) {
		t.Helper()
		pair, err := made()
		must(t, err)
		return pair[0], pair[1]
	}
}()

func (b madeJob) export(t *testing.T, query string) []byte {
	t.Helper()
	return b.caller.send("GET", "/jobs/"+b.job.String()+"/bundle.zip"+query, nil).want(t, 200, nil).body
}

func checked(t *testing.T, data []byte) bundle.Report {
	t.Helper()
	r, err := bundle.Verify(bytes.NewReader(data), bundle.Check{})
	must(t, err)
	return r
}

// A job goes out whole, and what goes out holds. The owner's has smaller photos and
// says so.
func TestBundle(t *testing.T) {
	t.Parallel()
	b := newMadeJob(t, newSite(t))
	data := b.export(t, "")
	if r := checked(t, data); r.Verdict != bundle.Holds || !strings.Contains(r.Text(), "1 photo or sound is what the records were sealed with") {
		t.Error(r.Text())
	}
	if !bytes.Contains(data, b.photo) || !bytes.Contains(data, []byte(`{ "text" : "two  spaces" }`)) || !bytes.Contains(data, []byte("Mere Kohu")) {
		t.Error("the bundle has not all that it is made from")
	}
	smaller := b.export(t, "?photos=smaller")
	if r := checked(t, smaller); r.Verdict != bundle.Holds || !strings.Contains(r.Text(), "1 photo is a smaller one") || bytes.Contains(smaller, b.photo) {
		t.Error(r.Text())
	}
	b.caller.send("GET", "/jobs/"+b.job.String()+"/bundle.zip?photos=none", nil).want(t, 422, nil)
	if page := b.get(b.page("/sheets")); !strings.Contains(page, "/bundle.zip\" download") {
		t.Error("no page leads to the bundle")
	}
}

// into is an empty server on a database of its own.
func into(t *testing.T) (bundle.Into, *pgtest.DB) {
	t.Helper()
	db := pgtest.New(t)
	objects, err := dirphotos.Open(t.TempDir())
	must(t, err)
	photos := &events.Photos{Objects: objects, Ledger: pglog.NewLedger(db.App), Spool: t.TempDir()}
	return bundle.Into{Log: pglog.New(db.App), Store: pgjobs.New(db.App), Signed: pgproof.New(db.App), Photos: photos, Now: time.Now().UTC().Truncate(time.Millisecond)}, db
}

// exported writes the bundle of a job that was restored.
func exported(t *testing.T, in bundle.Into, db *pgtest.DB, firm, job events.ID) []byte {
	t.Helper()
	o := bundle.Order{Firm: firm, Job: job, Photos: bundle.Originals}
	c, err := bundle.Gather(t.Context(), bundle.From{Log: in.Log, Store: in.Store, Signed: pgproof.New(db.App)}, o)
	must(t, err)
	var out bytes.Buffer
	must(t, bundle.Write(&out, c, func(file events.Digest, _ events.FileType) ([]byte, error) {
		_, body, err := in.Photos.(*events.Photos).Open(t.Context(), firm, file)
		if err != nil {
			return nil, err
		}
		defer body.Close()
		return io.ReadAll(body)
	}, nil))
	return out.Bytes()
}

// What was restored into an empty server goes out again byte for byte. It may be
// restored again, and a job that has other records is left alone.
func TestBundleRestored(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	b := newMadeJob(t, s)
	data := b.export(t, "")
	in, db := into(t)
	for range 2 {
		done, err := bundle.Restore(t.Context(), bytes.NewReader(data), in, nil)
		must(t, err)
		if done.Firm != b.caller.firm || done.Job != b.job || done.Records != 5 || done.Files != 1 {
			t.Fatalf("%+v", done)
		}
		if again := exported(t, in, db, b.caller.firm, b.job); !bytes.Equal(again, data) {
			t.Fatalf("what goes out again is other bytes:\n%s", cmp.Diff(string(data), string(again)))
		}
	}
	// The restored log goes on; an older bundle of it is no news then.
	more, err := events.Receive([]byte(b.d.raw("note", `{"text":"later"}`)))
	must(t, err)
	_, err = in.Log.Append(t.Context(), events.Batch{Firm: b.caller.firm, Job: b.job, RecordedAt: in.Now, Events: []events.Incoming{more}})
	must(t, err)
	if _, err := bundle.Restore(t.Context(), bytes.NewReader(data), in, nil); err != nil {
		t.Errorf("an older bundle: %v", err)
	}
	b.caller.post(b.job, b.d.raw("note", `{"text":"another"}`))
	_, err = bundle.Restore(t.Context(), bytes.NewReader(b.export(t, "")), in, nil)
	wantErr(t, err, events.ErrConflict)
	_, err = bundle.Restore(t.Context(), bytes.NewReader(bytes.Replace(data, []byte("two  spaces"), []byte("two--spaces"), 1)), in, nil)
	wantErr(t, err, bundle.ErrChanged)
	if _, err = bundle.Restore(t.Context(), bytes.NewReader(b.export(t, "?photos=smaller")), in, nil); err == nil {
		t.Error("a bundle with smaller photos was restored")
	}
}

func wantErr(t *testing.T, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("%v, want %v", err, want)
	}
}

// erasing is what an erasure of a site works on.
func erasing(t *testing.T, s *site, objects events.Objects) server.Erasing {
	t.Helper()
	return server.Erasing{
		Log: pglog.New(s.db.App), Store: pgjobs.New(s.db.App), Eraser: pglog.NewEraser(s.db.Open(pgdb.Eraser)), Objects: objects,
		Now: time.Now().UTC().Truncate(time.Millisecond), Random: rand.Reader,
	}
}

// What was erased is gone from the log, the search, the quarantine and the store of
// photos; everything else holds, and says so. A phone that sends it again is answered.
func TestErase(t *testing.T) {
	t.Parallel()
	var objects events.Objects
	s := newSiteOn(t, pgtest.New(t), func(c *server.Config) { objects = c.Photos.Objects })
	b := newMadeJob(t, s)
	words := b.d.raw("note", `{"text":"a neighbour called wombat"}`)
	b.caller.post(b.job, words)
	if a := b.caller.send("POST", "/jobs/"+b.job.String()+"/events", batch(strings.Replace(words, "wombat", "possum", 1))).want(t, 200, nil); !bytes.Contains(a.body, []byte("quarantined")) {
		t.Fatalf("%s", a.body)
	}
	b.sign(t, s)
	before := b.export(t, "")
	what := server.Erasure{Firm: b.caller.firm, Job: b.job, Records: []int64{6}, Files: []events.FileOf{{Record: 5, No: 1}}, Why: "a neighbour asked"}
	done, err := server.Erase(t.Context(), erasing(t, s, objects), what)
	must(t, err)
	if diff := cmp.Diff(server.Erased{Jobs: 1, Records: 1, Apart: 1, Files: 1}, done); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	b.sign(t, s)
	data := b.export(t, "")
	for _, gone := range []string{"wombat", "possum"} {
		if bytes.Contains(data, []byte(gone)) || rowsWith(t, s, gone) > 0 {
			t.Errorf("%s is still there", gone)
		}
	}
	if bytes.Contains(data, b.photo) || !bytes.Contains(before, b.photo) {
		t.Error("the photo is still there")
	}
	b.caller.send("GET", "/photos/"+sha(b.photo), nil).want(t, 404, nil)
	r := checked(t, data)
	if r.Verdict != bundle.Holds || !strings.Contains(r.Text(), "1 record was erased at somebody's request, as record 7 says") || !strings.Contains(r.Text(), "1 photo or sound was erased") {
		t.Error(r.Text())
	}
	// The same again, and a checkpoint from before, which still holds.
	if done, err = server.Erase(t.Context(), erasing(t, s, objects), what); err != nil || done.Records != 0 || done.Apart != 0 {
		t.Errorf("again: %+v, %v", done, err)
	}
	if again := b.export(t, ""); !bytes.Equal(again, data) {
		t.Error("erasing again changed something")
	}
	held, err := pgproof.New(s.db.App).FindCheckpoint(t.Context(), b.caller.firm, b.job, 6)
	must(t, err)
	if r, err := bundle.Verify(bytes.NewReader(data), bundle.Check{Against: [][]byte{held.Note}}); err != nil || r.Verdict != bundle.Holds {
		t.Errorf("%v %s", err, r.Text())
	}
	if a := b.caller.send("POST", "/jobs/"+b.job.String()+"/events", batch(words)).want(t, 200, nil); !bytes.Contains(a.body, []byte(`"erased"`)) {
		t.Errorf("a repeat is answered %s", a.body)
	}
	if page := b.get(b.page("/book")); strings.Contains(page, "wombat") || !strings.Contains(page, "a neighbour asked") {
		t.Error("the book does not say what was erased")
	}
}

// All that somebody recorded, in every job of the firm and no other.
func TestEraseAPerson(t *testing.T) {
	t.Parallel()
	var objects events.Objects
	s := newSiteOn(t, pgtest.New(t), func(c *server.Config) { objects = c.Photos.Objects })
	b, other := newMadeJob(t, s), newMadeJob(t, s)
	other.d.by = b.person
	other.caller.post(other.job, other.d.raw("note", `{"text":"of another firm"}`))
	another := newDevice(t, b.job)
	b.caller.post(b.job, another.raw("note", `{"text":"by somebody else"}`))
	done, err := server.Erase(t.Context(), erasing(t, s, objects), server.Erasure{Firm: b.caller.firm, Person: b.person, Why: "asked for"})
	must(t, err)
	if done.Records == 0 || done.Jobs != 1 || done.Files != 1 {
		t.Errorf("%+v", done)
	}
	r := checked(t, b.export(t, ""))
	if len(r.Faults) != 0 || bytes.Contains(b.export(t, ""), []byte(b.person.String())) || !bytes.Contains(b.export(t, ""), []byte("by somebody else")) {
		t.Error(r.Text())
	}
	if !bytes.Contains(other.export(t, ""), []byte("of another firm")) {
		t.Error("another firm's record is gone")
	}
}

// Nobody sends a record that says something was erased.
func TestErasedFromAPhone(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	a := b.caller.send("POST", "/jobs/"+b.job.String()+"/events", batch(d.raw("erased", `{"records":[1],"why":"no"}`))).want(t, 200, nil)
	if !bytes.Contains(a.body, []byte("quarantined")) {
		t.Errorf("%s", a.body)
	}
}

// rowsWith counts the rows of the tables of words that have a word.
func rowsWith(t *testing.T, s *site, word string) (n int) {
	t.Helper()
	for _, sql := range []string{
		`SELECT count(*) FROM event_bytes WHERE position($1::bytea in bytes) > 0`,
		`SELECT count(*) FROM quarantine WHERE position($1::bytea in bytes) > 0`,
		`SELECT count(*) FROM book_text WHERE position(convert_from($1::bytea, 'UTF8') in words) > 0`,
		`SELECT count(*) FROM book_word WHERE word = convert_from($1::bytea, 'UTF8')`,
		`SELECT count(*) FROM job_summary WHERE position(convert_from($1::bytea, 'UTF8') in body::text) > 0`,
	} {
		var one int
		must(t, s.db.Connect(pgdb.Owner).QueryRow(t.Context(), sql, []byte(word)).Scan(&one))
		n += one
	}
	return n
}
