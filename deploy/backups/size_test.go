//go:build drill

package backups_test

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"relevel/deploy/backups"
	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
)

// TestTimePerGB backs up and restores DRILL_MB of records and as much of photos, each
// way, and prints how long a GB takes.
func TestTimePerGB(t *testing.T) {
	size, err := strconv.Atoi(os.Getenv("DRILL_MB"))
	if err != nil {
		t.Fatalf("DRILL_MB: %v", err)
	}
	objects := folderOf(t)
	f := fill(t, pgtest.Own(t), objects)
	f.grow(t, int64(size)<<20)
	for kept := int64(0); kept < int64(size)<<20; {
		k, err := f.photo(t.Context(), 900) // 3 MB, as a phone takes
		if err != nil {
			t.Fatal(err)
		}
		kept += k.Bytes
	}
	database := number(t, f.DSN(pgdb.Backup), `SELECT pg_database_size(current_database())`)
	say := func(what string, bytes int64, took time.Duration) {
		fmt.Printf("%-42s %5.2f GB in %6.1f s: %4.0f s per GB\n", what, float64(bytes)/(1<<30), took.Seconds(), took.Seconds()*(1<<30)/float64(bytes))
	}
	began := time.Now()
	m := f.dump(t)
	say("backup, dump and all photos", database+m.Bytes, time.Since(began))
	began = time.Now()
	f.dump(t)
	say("backup, dump again, no new photos", database+m.Bytes, time.Since(began))
	f.restoreSized(t, "restore of the dump", database, say)

	f.source.Cluster = f.Server.DSN(localpg.Superuser, "postgres")
	f.into = filepath.Join(filepath.Dir(f.into), "bases")
	w := follow(t, f)
	began = time.Now()
	eventually(t, "a base was made", func() bool { return bases(f.into) == 1 })
	say("backup, base and all photos", database+m.Bytes, time.Since(began))
	f.grow(t, int64(size)<<19)
	w.awaitReceived(t)
	w.end(t)
	database = number(t, f.DSN(pgdb.Backup), `SELECT pg_database_size(current_database())`)
	f.restoreSized(t, "restore of the base, half as much WAL", database, say)
}

// grow records so many bytes, in jobs of a thousand records.
func (f *filled) grow(t *testing.T, bytes int64) {
	t.Helper()
	text := make([]byte, 2100)
	var job events.ID
	for n, done := 0, int64(0); done < bytes; n++ {
		if n%4 == 0 {
			var err error
			if job, err = f.job(t.Context(), 1); err != nil {
				t.Fatal(err)
			}
		}
		b := events.Batch{Firm: f.firm, Job: job, RecordedAt: time.Now().UTC()}
		for range 250 {
			rand.Read(text)
			in, err := events.Receive(fmt.Appendf(nil, `{"id":%q,"job":%q,"kind":"note","v":1,"at":"2026-03-02T10:15:00Z","device":%q,"device_seq":%d,"seen_seq":0,"by":%q,"body":{"text":%q}}`,
				newID(), job, f.firm, f.last.Add(1), f.firm, base64.StdEncoding.EncodeToString(text)))
			if err != nil {
				t.Fatal(err)
			}
			b.Events, done = append(b.Events, in), done+int64(len(in.Raw))
		}
		if _, err := f.log.Append(context.Background(), b); err != nil {
			t.Fatal(err)
		}
	}
}

func (f *filled) restoreSized(t *testing.T, what string, database int64, say func(string, int64, time.Duration)) {
	t.Helper()
	began := time.Now()
	done, err := backups.Restore{Dir: f.into, Objects: folderOf(t)}.Local(t.Context(), filepath.Join(openFolder(t), "postgres"), f.Name)
	if err != nil || len(done.Faults) > 0 {
		t.Fatalf("%q, %v", done.Faults, err)
	}
	say(what+", all told", database+done.Bytes, time.Since(began))
	say("  of that the database", database, done.Database)
	say("  of that reading all records", database, done.Checking)
	say("  of that photos", done.Bytes, done.Copying)
}
