package backups_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/deploy/backups"
	"relevel/events"
	"relevel/events/dirphotos"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
	"relevel/events/s3photos"
	"relevel/events/s3photos/s3test"
)

// filled is a server's stores with two jobs and three photos, and a folder to back
// them up into.
type filled struct {
	*pgtest.DB
	*load
	source backups.Source
	photos []events.Kept
	jobs   []events.ID
	into   string
}

func fill(t *testing.T, db *pgtest.DB, objects events.Objects) *filled {
	t.Helper()
	dir := openFolder(t)
	l, err := newLoad(t.Context(), db.App, objects, filepath.Join(dir, "keys"))
	if err != nil {
		t.Fatal(err)
	}
	f := &filled{DB: db, load: l, into: filepath.Join(dir, "backups")}
	f.source = backups.Source{DSN: db.DSN(pgdb.Backup), Objects: objects, Program: "test"}
	for range 2 {
		job, err := l.job(t.Context(), 9)
		if err != nil {
			t.Fatal(err)
		}
		f.jobs = append(f.jobs, job)
	}
	for range 3 {
		k, err := l.photo(t.Context(), 16)
		if err != nil {
			t.Fatal(err)
		}
		f.photos = append(f.photos, k)
	}
	return f
}

func folderOf(t *testing.T) *dirphotos.Store {
	t.Helper()
	s, err := dirphotos.Open(filepath.Join(openFolder(t), "photos"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func (f *filled) place(t *testing.T) *backups.Place {
	t.Helper()
	p, err := backups.Open(f.into)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.Close() })
	return p
}

func (f *filled) dump(t *testing.T) backups.Manifest {
	t.Helper()
	p := f.place(t)
	m, err := p.Dump(t.Context(), f.source)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	return m
}

// own restores into another, empty database of the same server.
func (f *filled) own(t *testing.T, r backups.Restore) (backups.Restored, error) {
	t.Helper()
	name := f.Name + fmt.Sprint("_", time.Now().UnixNano())
	execute(t, f.DSN(localpg.Superuser), "CREATE DATABASE "+name+" OWNER "+pgdb.Owner+" TEMPLATE template0")
	t.Cleanup(func() {
		conn, err := pgx.Connect(context.Background(), f.DSN(localpg.Superuser))
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close(context.Background())
		if _, err := conn.Exec(context.Background(), "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	if r.Objects == nil {
		r.Objects = folderOf(t)
	}
	return r.Own(t.Context(), strings.Replace(f.DSN(pgdb.Owner), "/"+f.Name, "/"+name, 1))
}

// A dump comes back into a data folder and into a database of one's own, with all
// photos, and the server's other roles see it as before.
func TestDumpOK(t *testing.T) {
	f := fill(t, pgtest.New(t), folderOf(t))
	m := f.dump(t)
	if m.Firms != 1 || m.Jobs != 2 || m.Events != 18 || m.Photos != 3 || len(m.Missing) != 0 {
		t.Errorf("%+v", m)
	}
	again := f.dump(t)
	if newest, err := backups.Newest(f.into); err != nil || newest.Name != again.Name || newest.Name == m.Name {
		t.Errorf("the newest is %+v, %v", newest, err)
	}
	photos := folderOf(t)
	into := filepath.Join(openFolder(t), "postgres")
	done, err := backups.Restore{Dir: f.into, Objects: photos}.Local(t.Context(), into, loadName)
	if err != nil {
		t.Fatal(err)
	}
	f.wantWhole(t, done, photos)
	if _, err := (backups.Restore{Dir: f.into, Objects: photos}).Local(t.Context(), into, loadName); err == nil || !strings.Contains(err.Error(), "nothing of it is overwritten") {
		t.Errorf("over what is there: %v", err)
	}
	if _, err := (backups.Restore{Dir: f.into, Objects: photos}).Own(t.Context(), f.DSN(pgdb.Owner)); err == nil || !strings.Contains(err.Error(), "nothing of it is overwritten") {
		t.Errorf("over a filled database: %v", err)
	}
	done, err = f.own(t, backups.Restore{Dir: f.into, Objects: photos})
	if err != nil {
		t.Fatal(err)
	}
	f.wantWhole(t, done, photos)
}

func (f *filled) wantWhole(t *testing.T, done backups.Restored, photos events.Objects) {
	t.Helper()
	if len(done.Faults) > 0 || done.Audit.Events != 18 || done.Audit.Checkpoints != 2 || done.Photos != 3 || done.Lost != 0 {
		t.Errorf("it finds %+v", done)
	}
	for _, k := range f.photos {
		if n, err := photos.Stat(t.Context(), events.Key{Firm: k.Firm, SHA256: k.SHA256}); err != nil || n != k.Bytes {
			t.Errorf("photo %s: %d, %v", k.SHA256, n, err)
		}
	}
}

// Photos go from a bucket into the folder and back into another bucket.
func TestDumpOfABucket(t *testing.T) {
	c := s3test.Start(t)
	bucket := func(name string) events.Objects {
		c.Bucket = name
		s, err := s3photos.New(c)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	f := fill(t, pgtest.New(t), bucket("before"))
	f.dump(t)
	after := bucket("after")
	done, err := f.own(t, backups.Restore{Dir: f.into, Objects: after})
	if err != nil {
		t.Fatal(err)
	}
	f.wantWhole(t, done, after)
}

// Whatever is changed in a backup is found before anything is restored from it, or, of
// photos, on the way, and is named.
func TestDamageIsNamed(t *testing.T) {
	f := fill(t, pgtest.New(t), folderOf(t))
	m := f.dump(t)
	photo := f.photos[1].SHA256.String()
	inPlace := func(parts ...string) string { return filepath.Join(append([]string{f.into}, parts...)...) }
	photoPath := inPlace("photos", f.photos[1].Firm.String(), photo[:2], photo)
	for name, test := range map[string]struct {
		path   string
		change func(b []byte) []byte
		says   string
		lost   int // with what the rest is restored all the same
	}{
		"DumpByte":     {inPlace(m.Name, "database.dump"), flip, "database.dump is not what was written", 0},
		"DumpCut":      {inPlace(m.Name, "database.dump"), cut, "database.dump is not what was written", 0},
		"DumpGone":     {inPlace(m.Name, "database.dump"), nil, "database.dump is missing", 0},
		"Heads":        {inPlace(m.Name, "heads"), flip, "heads is not what was written", 0},
		"ManifestCut":  {inPlace(m.Name, "manifest.json"), cut, "manifest.json is cut or changed", 0},
		"ManifestByte": {inPlace(m.Name, "manifest.json"), digit, "manifest.json is not as it was written", 0},
		"ManifestGone": {inPlace(m.Name, "manifest.json"), nil, "no such file", 0},
		"PhotoByte":    {photoPath, flip, photo + " is not what was stored", 1},
		"PhotoGone":    {photoPath, nil, photo + " is missing", 1},
	} {
		t.Run(name, func(t *testing.T) {
			was, err := os.ReadFile(test.path)
			if err != nil {
				t.Fatal(err)
			}
			defer os.WriteFile(test.path, was, 0o600)
			if test.change == nil {
				err = os.Remove(test.path)
			} else {
				err = os.WriteFile(test.path, test.change(append([]byte{}, was...)), 0o600)
			}
			if err != nil {
				t.Fatal(err)
			}
			done, err := f.own(t, backups.Restore{Dir: f.into})
			if test.lost == 0 {
				if !errors.Is(err, backups.ErrDamagedBackup) || !strings.Contains(err.Error(), test.says) {
					t.Errorf("want %q, and it says %v", test.says, err)
				}
				return
			}
			if err != nil || done.Lost != test.lost || done.Photos != 2 || len(done.Faults) != 1 || !strings.Contains(done.Faults[0], test.says) {
				t.Errorf("want %q, and it says %+v, %v", test.says, done, err)
			}
		})
	}
}

func flip(b []byte) []byte { b[len(b)/2] ^= 1; return b }

func cut(b []byte) []byte { return b[:len(b)*2/3] }

func digit(b []byte) []byte {
	return []byte(strings.Replace(string(b), `"events": 18`, `"events": 19`, 1))
}

// What was wrong in the database itself comes out when it is restored: a dump without a
// record is a whole dump.
func TestDroppedRecord(t *testing.T) {
	f := fill(t, pgtest.New(t), folderOf(t))
	execute(t, f.DSN(localpg.Superuser), "ALTER TABLE event DISABLE TRIGGER USER", fmt.Sprintf("DELETE FROM event WHERE job = '%s' AND seq = 5", f.jobs[1]))
	f.dump(t)
	done, err := f.own(t, backups.Restore{Dir: f.into})
	if err != nil || !strings.Contains(strings.Join(done.Faults, "\n"), f.jobs[1].String()+": record 5 is missing") {
		t.Errorf("%q, %v", done.Faults, err)
	}
}

// A photo that the store lost is said to be missing, in the backup and after it is
// restored, where the ledger asks for it again.
func TestLostPhoto(t *testing.T) {
	objects := folderOf(t)
	f := fill(t, pgtest.New(t), objects)
	lost := f.photos[0]
	if err := objects.Delete(t.Context(), events.Key{Firm: lost.Firm, SHA256: lost.SHA256}); err != nil {
		t.Fatal(err)
	}
	if m := f.dump(t); len(m.Missing) != 1 || !strings.Contains(m.Missing[0], lost.SHA256.String()) {
		t.Errorf("missing %q", m.Missing)
	}
	into := filepath.Join(openFolder(t), "postgres")
	done, err := backups.Restore{Dir: f.into, Objects: folderOf(t)}.Local(t.Context(), into, loadName)
	if err != nil || done.Lost != 1 || len(done.Faults) != 1 {
		t.Fatalf("%+v, %v", done, err)
	}
	pg, err := localpg.Start(t.Context(), localpg.Config{Dir: into, Roles: pgdb.Roles(), Scratch: true})
	if err != nil {
		t.Fatal(err)
	}
	defer pg.Stop()
	if n := number(t, pg.DSN(pgdb.Owner, loadName), `SELECT count(*) FROM photo WHERE state = 'received' AND reason <> ''`); n != 1 {
		t.Errorf("%d are asked for again", n)
	}
}

// Two do not write into one folder, what broke off is cleared, and old backups go with
// the photos that nobody lists any more.
func TestPlace(t *testing.T) {
	objects := folderOf(t)
	f := fill(t, pgtest.New(t), objects)
	p := f.place(t)
	if _, err := backups.Open(f.into); err == nil || !strings.Contains(err.Error(), "is under way") {
		t.Errorf("a second one: %v", err)
	}
	p.Close()
	if _, err := backups.Newest(f.into); !errors.Is(err, backups.ErrNone) {
		t.Errorf("of none the newest is %v", err)
	}
	part := filepath.Join(f.into, "20260302T101500Z.part")
	if err := os.MkdirAll(filepath.Join(part, "base"), 0o700); err != nil {
		t.Fatal(err)
	}
	f.dump(t)
	if _, err := os.Stat(part); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("what broke off is still there: %v", err)
	}
	f.dump(t)
	gone := f.photos[2]
	execute(t, f.DSN(pgdb.Owner), fmt.Sprintf(`DELETE FROM photo WHERE sha256 = '\x%s'`, gone.SHA256))
	last := f.dump(t)
	p = f.place(t)
	if removed, err := p.Prune(t.Context(), 1); err != nil || removed != 2 {
		t.Errorf("removed %d, %v", removed, err)
	}
	all, err := backups.List(f.into)
	if err != nil || len(all) != 1 || all[0].Name != last.Name {
		t.Errorf("left are %v, %v", all, err)
	}
	if n := copies(f.into); n != 2 {
		t.Errorf("%d photos are left, want those that the last one lists", n)
	}
}

// A dump that fails leaves nothing that looks like a backup.
func TestDumpFails(t *testing.T) {
	f := fill(t, pgtest.New(t), folderOf(t))
	f.source.DSN = f.DSN(pgdb.App)
	if _, err := f.place(t).Dump(t.Context(), f.source); err == nil || !strings.Contains(err.Error(), "BYPASSRLS") {
		t.Errorf("as a role that sees one firm: %v", err)
	}
	left, err := filepath.Glob(filepath.Join(f.into, "2*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left %v, %v", left, err)
	}
}

// Keys are copied where they are asked for, for this account's eyes.
func TestSecrets(t *testing.T) {
	f := fill(t, pgtest.New(t), folderOf(t))
	f.source.Secrets = []string{filepath.Join(filepath.Dir(f.into), "keys"), filepath.Join(f.into, "nothing")}
	m := f.dump(t)
	info, err := os.Stat(filepath.Join(f.into, m.Name, "secrets", "keys"))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info, err)
	}
}
