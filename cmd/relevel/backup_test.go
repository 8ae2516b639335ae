package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/cmd/relevel/demo/pictures"
	"relevel/cmd/relevel/doctor"
	"relevel/deploy/backups"
	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/s3photos/s3test"
	"relevel/jobs"
)

// keptPhoto is a job and a photo on a running server.
func keptPhoto(t *testing.T, r ready) (sum events.Digest, jpeg []byte) {
	t.Helper()
	c := client.New(r.URL, r.Token)
	if err := c.CreateJob(t.Context(), jobs.Job{Name: "14 Wattle Street", Zone: "UTC"}); err != nil {
		t.Fatal(err)
	}
	jpeg, err := pictures.Draw(pictures.Gap{Support: "B1-1", GapMM: 20})
	if err != nil {
		t.Fatal(err)
	}
	sum = sha256.Sum256(jpeg)
	if err := c.PutPhoto(t.Context(), sum, jpeg); err != nil {
		t.Fatal(err)
	}
	return sum, jpeg
}

// photoFile is where a data folder has a photo.
func photoFile(t *testing.T, dir string, sum events.Digest) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, "photos", "*", sum.String()[:2], sum.String()))
	if err != nil || len(found) != 1 {
		t.Fatalf("%v, %v", found, err)
	}
	return found[0]
}

// A server is backed up while it runs, a photo decays and is put back from the backup,
// then everything burns and comes back: who could sign in can, and the photo is there.
func TestFire(t *testing.T) {
	top := openFolder(t)
	dir, into := filepath.Join(top, "data"), filepath.Join(top, "backups")
	p, first := serveFirst(t, dir)
	sum, jpeg := keptPhoto(t, first)
	do := func(wanted int, says string, args ...string) {
		t.Helper()
		if status, out, errs := relevel(t, args...); status != wanted || !strings.Contains(out+errs, says) {
			t.Errorf("%v: status %d, want %d and %q:\n%s%s", args, status, wanted, says, out, errs)
		}
	}
	do(exitOK, "jobs 1, events 0, photos 1", "backup", "--data", dir, "--to", into, "--keys", "--quiet")
	do(exitOK, "jobs 1, events 0, photos 1", "restore", "--from", into, "--list")
	do(exitOK, "damaged or gone 0", "scrub", "--data", dir, "--quiet")

	path := photoFile(t, dir, sum)
	if err := os.WriteFile(path, []byte("decayed"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(filepath.Dir(path), "a letter"), []byte("dear"), 0o600); err != nil {
		t.Fatal(err)
	}
	do(exitIncomplete, sum.String(), "scrub", "--data", dir, "--quiet", "--rate", "100")
	do(exitIncomplete, "damaged or gone 1", "scrub", "--data", dir, "--quiet")
	do(exitOK, "put back 1", "scrub", "--data", dir, "--quiet", "--from", into)
	do(exitOK, "a letter (0.0 kB): it is no file of ours", "scrub", "--data", dir, "--quiet")
	if status, body := fetch(t, first, "/api/v1/photos/"+sum.String()); status != http.StatusOK || !bytes.Equal(body, jpeg) {
		t.Errorf("put back it is answered %d, %d bytes", status, len(body))
	}

	if err := p.end(syscall.SIGKILL); err == nil {
		t.Error("it ended well")
	}
	if err := os.Rename(dir, dir+"-burnt"); err != nil {
		t.Fatal(err)
	}
	do(exitOK, "checked backup", "restore", "--from", into, "--check", "--quiet")
	do(exitOK, "photos   1", "restore", "--from", into, "--data", dir, "--quiet")
	do(exitFailed, "nothing of it is overwritten", "restore", "--from", into, "--data", dir, "--quiet")
	for _, name := range []string{"signing-keys", "access.json"} {
		all, err := filepath.Glob(filepath.Join(into, "2*", "secrets", name))
		if err != nil || len(all) != 1 {
			t.Fatalf("%s: %v, %v", name, all, err)
		}
		text, err := os.ReadFile(all[0])
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, name), text, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	p = launch(t, nil, "serve", "--listen", "127.0.0.1:0", "--data", dir)
	again := ready{URL: strings.Fields(p.line())[4], Token: first.Token}
	if status, body := fetch(t, again, "/api/v1/jobs"); status != http.StatusOK || !bytes.Contains(body, []byte("14 Wattle Street")) {
		t.Errorf("the jobs of a restored server: %d %s", status, body)
	}
	if status, body := fetch(t, again, "/api/v1/photos/"+sum.String()); status != http.StatusOK || !bytes.Equal(body, jpeg) {
		t.Errorf("its photo: %d, %d bytes", status, len(body))
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Errorf("%v: %s", err, p.errs)
	}
	if left := processesOn(t, top); len(left) > 0 {
		t.Errorf("still running: %v", left)
	}
}

// The doctor says how old the last backup is.
func TestLastBackup(t *testing.T) {
	if found := lastBackup("", time.Now()); len(found) != 1 || found[0].Verdict != doctor.Look || !strings.Contains(found[0].Cure, envBackups) {
		t.Errorf("with no folder named: %+v", found)
	}
	into := filepath.Join(openFolder(t), "backups")
	if found := lastBackup(into, time.Now()); len(found) != 1 || found[0].Verdict != doctor.Wrong || found[0].Cure == "" {
		t.Errorf("with no backup: %+v", found)
	}
	dir := filepath.Join(openFolder(t), "data")
	p, _ := serveFirst(t, dir)
	if out, errs, err := once(t, []string{envBackups + "=" + into}, "backup", "--data", dir); err != nil {
		t.Fatalf("%v %s %s", err, out, errs)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Error(err)
	}
	for age, want := range map[time.Duration]doctor.Verdict{0: doctor.OK, 2 * 24 * time.Hour: doctor.Look, 8 * 24 * time.Hour: doctor.Wrong} {
		if found := lastBackup(into, time.Now().Add(age)); len(found) != 1 || found[0].Verdict != want || (found[0].Cure == "") != (want == doctor.OK) {
			t.Errorf("after %s: %+v", age, found)
		}
	}
}

// A server is followed; the follower ends when it is told to.
func TestFollowARunningServer(t *testing.T) {
	top := openFolder(t)
	dir, into := filepath.Join(top, "data"), filepath.Join(top, "backups")
	if status, _, errs := relevel(t, "backup", "--data", dir, "--to", into, "--follow", "--quiet"); status != exitFailed || !strings.Contains(errs, "start relevel serve first") {
		t.Errorf("with no server: %d %s", status, errs)
	}
	p, first := serveFirst(t, dir)
	keptPhoto(t, first)
	f := launch(t, nil, "backup", "--data", dir, "--to", into, "--follow")
	for end := time.Now().Add(patience); ; time.Sleep(50 * time.Millisecond) {
		if m, err := backups.Newest(into); err == nil && m.Photos == 1 {
			break
		}
		if time.Now().After(end) {
			t.Fatalf("no base after %s: %s", patience, f.errs)
		}
	}
	if status, _, errs := relevel(t, "backup", "--data", dir, "--to", into, "--quiet"); status != exitFailed || !strings.Contains(errs, "is under way") {
		t.Errorf("beside it: %d %s", status, errs)
	}
	if err := f.end(syscall.SIGTERM); err != nil {
		t.Errorf("the follower ended with %v: %s", err, f.errs)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Error(err)
	}
}

// A firm with a database and a bucket of its own: backed up as the role that reads
// everything, restored into another database and another bucket.
func TestFireElsewhere(t *testing.T) {
	top := openFolder(t)
	pg, err := localpg.Start(context.Background(), localpg.Config{Dir: filepath.Join(top, "postgres"), Roles: pgdb.Roles(), Scratch: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { pg.Stop() })
	bucket := s3test.Start(t)
	env := func(database, name string) []string {
		return []string{
			envAdmin + "=" + pg.DSN(localpg.Superuser, "postgres"), envOwner + "=" + pg.DSN(pgdb.Owner, database),
			envDatabase + "=" + pg.DSN(pgdb.App, database), envWorker + "=" + pg.DSN(pgdb.Worker, database), envBackup + "=" + pg.DSN(pgdb.Backup, database),
			envS3Endpoint + "=http://" + bucket.Endpoint, envS3Bucket + "=" + name, envS3Key + "=" + bucket.Key, envS3Secret + "=" + bucket.Secret,
		}
	}
	do := func(database, name string, args ...string) string {
		t.Helper()
		out, errs, err := once(t, env(database, name), args...)
		if err != nil {
			t.Fatalf("%v: %v %s", args, err, errs)
		}
		return out
	}
	do("before", "before", "migrate", "--prepare")
	made := strings.Fields(do("before", "before", "firm", "--data", top, "add", "A firm"))
	p := launch(t, env("before", "before"), "serve", "--listen", "127.0.0.1:0", "--data", top)
	sum, jpeg := keptPhoto(t, ready{URL: strings.Fields(p.line())[4], Token: made[3]})
	into := filepath.Join(top, "backups")
	if out := do("before", "before", "backup", "--data", top, "--to", into); !strings.Contains(out, "jobs 1, events 0, photos 1") {
		t.Error(out)
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Error(err)
	}
	if out := do("after", "after", "restore", "--data", top, "--from", into); !strings.Contains(out, "photos   1") {
		t.Error(out)
	}
	p = launch(t, env("after", "after"), "serve", "--listen", "127.0.0.1:0", "--data", top)
	again := ready{URL: strings.Fields(p.line())[4], Token: made[3]}
	if status, body := fetch(t, again, "/api/v1/photos/"+sum.String()); status != http.StatusOK || !bytes.Equal(body, jpeg) {
		t.Errorf("its photo: %d, %d bytes", status, len(body))
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Error(err)
	}
	if out := do("after", "after", "scrub", "--data", top); !strings.Contains(out, "read back 1 photos") {
		t.Error(out)
	}
}

// What makes no sense is said before anything is opened.
func TestBackupCommandsRefuse(t *testing.T) {
	empty := t.TempDir()
	for _, test := range []struct {
		status int
		args   []string
		says   string
	}{
		{exitBadInput, []string{"backup"}, "say where to"},
		{exitBadInput, []string{"backup", "--to", empty, "more"}, "takes no arguments"},
		{exitBadInput, []string{"backup", "--to", empty, "--keep", "-1"}, "0 or more"},
		{exitFailed, []string{"backup", "--to", empty, "--data", empty}, "there is no data in"},
		{exitBadInput, []string{"restore"}, "say where from"},
		{exitBadInput, []string{"restore", "--from", empty, "--until", "yesterday"}, "a moment with its zone"},
		{exitFailed, []string{"restore", "--from", empty, "--check"}, "no complete backup"},
		{exitFailed, []string{"scrub", "--data", empty}, "there is no data in"},
		{exitBadInput, []string{"scrub", "--older", "-1"}, "0 or more"},
	} {
		if status, _, errs := relevel(t, test.args...); status != test.status || !strings.Contains(errs, test.says) {
			t.Errorf("%v: status %d: %s", test.args, status, errs)
		}
	}
	for _, n := range []int64{12, 5 << 20, 3 << 30} {
		if text := bytesText(n); !strings.ContainsAny(fmt.Sprint(text), "kMG") {
			t.Error(text)
		}
	}
}
