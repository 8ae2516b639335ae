package backups_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"fmt"
	"image"
	"image/png"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server/signing"
)

const (
	loadName = "relevel"
	writers  = 4
)

func must(err error) {
	if err != nil {
		fmt.Println("error:", err)
		os.Exit(1)
	}
}

// load is a server's stores with a firm, and what writes into them.
type load struct {
	firm   events.ID
	log    *pglog.Log
	photos *events.Photos
	signer *signing.Signer
	last   atomic.Int64
}

// newLoad makes a firm on a database at the current schema.
func newLoad(ctx context.Context, db *pgdb.DB, objects events.Objects, keys string) (*load, error) {
	l := &load{firm: newID(), log: pglog.New(db), photos: &events.Photos{Objects: objects, Ledger: pglog.NewLedger(db)}}
	ring, err := signing.OpenRing(keys, "relevel.example", time.Now(), rand.Reader)
	if err != nil {
		return nil, err
	}
	l.signer = &signing.Signer{Log: l.log, Store: pgproof.New(db), Ring: ring, Now: time.Now, Logger: slog.New(slog.DiscardHandler)}
	return l, pgjobs.New(db).CreateFirm(ctx, jobs.Firm{ID: l.firm, Name: "A firm", Words: "AU", Units: "mm", CreatedAt: time.Now()})
}

func newID() (id events.ID) {
	rand.Read(id[:]) // never fails
	id[6], id[8] = id[6]&0x0f|0x70, id[8]&0x3f|0x80
	return id
}

// note makes the next record of a job.
func (l *load) note(job events.ID) (events.Incoming, error) {
	n := l.last.Add(1)
	return events.Receive(fmt.Appendf(nil, `{"id":%q,"job":%q,"kind":"note","v":1,"at":"2026-03-02T10:15:00Z","device":%q,"device_seq":%d,"seen_seq":0,"by":%q,"body":{"text":"note %d"}}`,
		newID(), job, l.firm, n, l.firm, n))
}

// record appends some notes to a job, and returns what was acknowledged.
func (l *load) record(ctx context.Context, job events.ID, n int) ([]events.Result, error) {
	b := events.Batch{Firm: l.firm, Job: job, RecordedAt: time.Now().UTC()}
	for range n {
		in, err := l.note(job)
		if err != nil {
			return nil, err
		}
		b.Events = append(b.Events, in)
	}
	r, err := l.log.Append(ctx, b)
	return r.Results, err
}

// job begins a job with some records, of which the last is signed.
func (l *load) job(ctx context.Context, n int) (events.ID, error) {
	job := newID()
	if err := l.log.Create(ctx, l.firm, job); err != nil {
		return job, err
	}
	if _, err := l.record(ctx, job, n); err != nil {
		return job, err
	}
	_, err := l.signer.Sign(ctx, l.firm, job)
	return job, err
}

// photo keeps a picture of noise that no other is like.
func (l *load) photo(ctx context.Context, side int) (events.Kept, error) {
	picture := image.NewNRGBA(image.Rect(0, 0, side, side))
	rand.Read(picture.Pix)
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.NoCompression}).Encode(&b, picture); err != nil {
		return events.Kept{}, err
	}
	return l.photos.Put(ctx, events.Upload{Firm: l.firm, SHA256: sha256.Sum256(b.Bytes()), Bytes: int64(b.Len()), Media: "image/png", At: time.Now(), Body: &b})
}

// writeUnderLoad keeps a Postgres and writes into it from several sides until it is
// killed, and prints whatever was acknowledged.
func writeUnderLoad(dir string) {
	ctx := context.Background()
	pg, err := localpg.Start(ctx, localpg.Config{Dir: filepath.Join(dir, "postgres"), Roles: pgdb.Roles()})
	must(err)
	admin := pg.DSN(localpg.Superuser, "postgres")
	must(pgdb.EnsureRoles(ctx, admin))
	must(pgdb.EnsureDatabase(ctx, admin, loadName))
	must(pgdb.Migrate(ctx, pg.DSN(pgdb.Owner, loadName)))
	db, err := pgdb.Open(ctx, pg.DSN(pgdb.App, loadName))
	must(err)
	objects, err := dirphotos.Open(filepath.Join(dir, "photos"))
	must(err)
	l, err := newLoad(ctx, db, objects, filepath.Join(dir, "keys"))
	must(err)
	fmt.Println("ready")
	var noPhotos atomic.Bool
	for range writers {
		go l.writeOn(ctx, &noPhotos, filepath.Join(dir, "no-photos"))
	}
	bufio.NewScanner(os.Stdin).Scan()
	noPhotos.Store(true)
	select {}
}

// writeOn writes until the process ends. What is not acknowledged is not counted.
func (l *load) writeOn(ctx context.Context, noPhotos *atomic.Bool, stoppedFile string) {
	job, err := l.job(ctx, 1)
	must(err)
	told := false
	for n := 0; ; n++ {
		results, err := l.record(ctx, job, 1+n%5)
		if err != nil {
			continue
		}
		for _, r := range results {
			fmt.Printf("event %s %d %s\n", job, r.Seq, r.ID)
		}
		switch {
		case n%7 == 0:
			_, _ = l.signer.Sign(ctx, l.firm, job) // another comes
		case n%9 == 0 && !noPhotos.Load():
			if k, err := l.photo(ctx, 40); err == nil {
				fmt.Printf("photo %s %s\n", k.Firm, k.SHA256)
			}
		case noPhotos.Load() && !told:
			told = true
			f, err := os.OpenFile(stoppedFile, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
			must(err)
			_, err = f.WriteString(".")
			must(err)
			f.Close()
		}
	}
}

// stopped tells that no writer keeps photos any more.
func stopped(dir string) bool {
	text, err := os.ReadFile(filepath.Join(dir, "no-photos"))
	return err == nil && len(text) == writers
}

// copies counts the photos in a folder of backups.
func copies(dir string) (n int) {
	filepath.WalkDir(filepath.Join(dir, "photos"), func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && len(d.Name()) == 64 {
			n++
		}
		return nil
	})
	return n
}

// worked tells whether any process works in a folder.
func worked(dir string) bool {
	all, _ := filepath.Glob("/proc/[0-9]*/cwd")
	for _, link := range all {
		if cwd, err := os.Readlink(link); err == nil && cwd == dir {
			return true
		}
	}
	return false
}

// openFolder is a folder that the account of Postgres can pass through.
func openFolder(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "relevel-backups-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return dir
}

func execute(t testing.TB, dsn string, statements ...string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	for _, sql := range statements {
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
}

func number(t testing.TB, dsn, sql string) (n int64) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), dsn)
	if err != nil {
		return -1 // it is stopping
	}
	defer conn.Close(context.Background())
	if err := conn.QueryRow(t.Context(), sql).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}
