package backups_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/deploy/backups"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
)

// following follows a server until it is told to stop.
type following struct {
	*filled
	place *backups.Place
	stop  context.CancelFunc
	done  chan error
}

func follow(t *testing.T, f *filled) *following {
	t.Helper()
	f.source.Cluster = f.Server.DSN(localpg.Superuser, "postgres")
	f.source.Warn = func(text string) { t.Log(text) }
	ctx, stop := context.WithCancel(t.Context())
	w := &following{f, f.place(t), stop, make(chan error, 1)}
	go func() {
		w.done <- w.place.Follow(ctx, f.source, backups.Following{Every: time.Hour, Keep: 5, Again: 100 * time.Millisecond, Look: 100 * time.Millisecond})
	}()
	t.Cleanup(stop)
	return w
}

func (w *following) end(t *testing.T) {
	t.Helper()
	w.stop()
	if err := <-w.done; err != nil {
		t.Error(err)
	}
	if err := w.place.Close(); err != nil {
		t.Error(err)
	}
}

// bases counts the complete ones.
func bases(dir string) (n int) {
	all, _ := backups.List(dir)
	return len(all)
}

// runs are the folders of WAL.
func runs(t *testing.T, dir string) []string {
	t.Helper()
	all, err := filepath.Glob(filepath.Join(dir, "wal", "*"))
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// awaitReceived waits until what is committed by now was received and noted.
func (w *following) awaitReceived(t *testing.T) {
	t.Helper()
	committed := number(t, w.source.Cluster, `SELECT pg_wal_lsn_diff(pg_current_wal_insert_lsn(), '0/0')::bigint`)
	eventually(t, "what was written was received", func() bool {
		// Something small follows, so that the place before it comes to be noted.
		execute(t, w.source.Cluster, "SELECT pg_logical_emit_message(false, 'relevel', 'on')")
		text, err := os.ReadFile(filepath.Join(runs(t, w.into)[0], "received"))
		if err != nil {
			return false
		}
		var high, low int64
		_, err = fmt.Sscanf(string(text), "%X/%X", &high, &low)
		return err == nil && high<<32|low >= committed
	})
}

// followed is a server that was followed through several segments of WAL: nine records
// of a third job in each of three, and as many in the one that was not complete.
func followed(t *testing.T) (f *filled, until time.Time) {
	t.Helper()
	f = fill(t, pgtest.Own(t), folderOf(t))
	w := follow(t, f)
	eventually(t, "a base was made", func() bool { return bases(f.into) == 1 })
	for n := range 4 {
		if _, err := f.job(t.Context(), 9); err != nil {
			t.Fatal(err)
		}
		if n == 3 {
			break
		}
		execute(t, f.source.Cluster, "SELECT pg_switch_wal()")
		if n == 1 {
			time.Sleep(10 * time.Millisecond)
			until = time.Now()
			time.Sleep(10 * time.Millisecond)
		}
	}
	more, err := f.photo(t.Context(), 16)
	if err != nil {
		t.Fatal(err)
	}
	f.photos = append(f.photos, more)
	eventually(t, "the new photo was copied", func() bool { return copies(f.into) == len(f.photos) })
	w.awaitReceived(t)
	w.end(t)
	return f, until
}

// TestFollow restores from a base and what was received since: all of it, and up to a
// moment. Then WAL is damaged on purpose, and each damage is named; what came before it
// is back whole.
func TestFollow(t *testing.T) {
	f, until := followed(t)
	restore := func(t *testing.T, r backups.Restore) backups.Restored {
		t.Helper()
		r.Dir, r.Objects = f.into, folderOf(t)
		done, err := r.Local(t.Context(), filepath.Join(openFolder(t), "postgres"), f.Name)
		if err != nil {
			t.Fatal(err)
		}
		return done
	}
	const perJob = 9
	t.Run("All", func(t *testing.T) {
		if done := restore(t, backups.Restore{}); len(done.Faults) > 0 || done.Audit.Events != 6*perJob || done.Photos != 4 {
			t.Errorf("%+v", done)
		}
	})
	t.Run("Until", func(t *testing.T) {
		if done := restore(t, backups.Restore{Until: until, Check: true}); len(done.Faults) > 0 || done.Audit.Events != 4*perJob || done.Photos != 3 {
			t.Errorf("%+v", done)
		}
	})
	t.Run("UntilTooLate", func(t *testing.T) {
		_, err := backups.Restore{Dir: f.into, Check: true, Until: time.Now().Add(time.Hour)}.Local(t.Context(), filepath.Join(openFolder(t), "postgres"), f.Name)
		if err == nil || !strings.Contains(err.Error(), "leave --until out") {
			t.Error(err)
		}
	})
	t.Run("UntilTooEarly", func(t *testing.T) {
		_, err := backups.Restore{Dir: f.into, Check: true, Until: time.Now().Add(-time.Hour)}.Local(t.Context(), filepath.Join(openFolder(t), "postgres"), f.Name)
		if err == nil || !strings.Contains(err.Error(), "a base made before it") {
			t.Error(err)
		}
	})
	all, err := filepath.Glob(filepath.Join(runs(t, f.into)[0], "0*"))
	if err != nil || len(all) < 5 {
		t.Fatalf("segments %v, %v", all, err)
	}
	last, before := all[len(all)-1], all[len(all)-3]
	for name, test := range map[string]struct {
		path   string
		change func([]byte) []byte
		says   string
		events int64 // at most, and whole
	}{
		"SegmentByte": {before, func(b []byte) []byte { b[4000] ^= 1; return b }, filepath.Base(before) + " is not what was received", 4 * perJob},
		"SegmentGone": {before, nil, filepath.Base(before) + " is missing", 4 * perJob},
		"LastBytes":   {last, func(b []byte) []byte { return bytes.Repeat([]byte{0}, len(b)) }, "what was committed between is lost", 5 * perJob},
	} {
		t.Run(name, func(t *testing.T) {
			was, err := os.ReadFile(test.path)
			if err != nil {
				t.Fatal(err)
			}
			defer os.WriteFile(test.path, was, 0o600)
			if err := os.Remove(test.path); err != nil {
				t.Fatal(err)
			}
			if test.change != nil {
				if err := os.WriteFile(test.path, test.change(bytes.Clone(was)), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			done := restore(t, backups.Restore{Check: true})
			if !strings.Contains(strings.Join(done.Faults, "\n"), test.says) || done.Audit.Events > test.events || done.Audit.Events < 2*perJob || len(done.Audit.Faults) > 0 {
				t.Errorf("want %q, and it says %q of %d events", test.says, done.Faults, done.Audit.Events)
			}
		})
	}
}

// A follower that comes back goes on where it was; one for which the server no longer
// kept everything begins a new run with a base of its own. A server that is away is
// waited for.
func TestFollowAgain(t *testing.T) {
	f := fill(t, pgtest.Own(t), folderOf(t))
	again := func() *following {
		w := follow(t, f)
		eventually(t, "it follows", func() bool {
			return number(t, f.source.Cluster, `SELECT count(*) FROM pg_replication_slots WHERE active`) == 1
		})
		return w
	}
	w := again()
	eventually(t, "a base was made", func() bool { return bases(f.into) == 1 })
	w.end(t)
	w = again()
	time.Sleep(2500 * time.Millisecond)
	if n := bases(f.into); n != 1 || len(runs(t, f.into)) != 1 {
		t.Errorf("it went on with %d bases in %v", n, runs(t, f.into))
	}
	w.end(t)
	eventually(t, "the server lets go", func() bool {
		return number(t, f.source.Cluster, `SELECT count(*) FROM pg_replication_slots WHERE active`) == 0
	})
	execute(t, f.source.Cluster, `SELECT pg_drop_replication_slot(slot_name) FROM pg_replication_slots`)
	w = again()
	eventually(t, "another base was made", func() bool { return bases(f.into) == 2 })
	all, err := backups.List(f.into)
	if err != nil || all[0].WAL == all[1].WAL || len(runs(t, f.into)) != 2 {
		t.Errorf("%+v, %v", all, err)
	}
	w.end(t)
	if got := number(t, f.DSN(pgdb.Backup), `SELECT count(*) FROM event`); got != 18 {
		t.Errorf("%d events", got)
	}
}
