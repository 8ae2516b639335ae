package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
)

// TestDoctor looks over the embedded default before it was started, while it runs, and
// after it has stopped.
func TestDoctor(t *testing.T) {
	dir := filepath.Join(openFolder(t), "data")
	examine := func(env ...string) string {
		t.Helper()
		out, errs, _ := once(t, env, "doctor", "--data", dir)
		if errs != "" {
			t.Errorf("it says beside its lines: %s", errs)
		}
		return out
	}
	has := func(said string, lines ...string) {
		t.Helper()
		for _, want := range lines {
			if !strings.Contains(said, want) {
				t.Errorf("no line says %q:\n%s", want, said)
			}
		}
	}
	has(examine(), "look   database: the private Postgres in "+dir+" does not run", "look   file: "+filepath.Join(dir, "signing-keys")+" is not there yet")
	has(examine(), "look   last: nobody said where backups are")
	p, r := serveFirst(t, dir)
	into := envBackups + "=" + filepath.Join(dir, "..", "backups")
	if out, errs, err := once(t, []string{into}, "backup", "--data", dir); err != nil {
		t.Fatalf("%v %s %s", err, out, errs)
	}
	said := examine(envURL+"="+r.URL, into)
	has(said, "ok     server: Postgres ", "ok     backup: it is entered as relevel_backup", "ok     a try: as relevel_owner", "ok     live stream: it comes as it is sent", "ok     folder: kept in", "takes the database to")
	for line := range strings.Lines(said) { // this test may be built without the phone's app
		if (strings.HasPrefix(line, "  wrong") || strings.HasPrefix(line, "  look")) && !strings.Contains(line, " program: ") && !strings.Contains(line, " disk: ") {
			t.Errorf("of a new server it says %s", line)
		}
	}
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Error(err)
	}
	has(examine(), "does not run")
	if out, _, err := once(t, []string{envURL + "=http://127.0.0.1:1"}, "doctor", "--data", dir, "--json"); err == nil || !strings.Contains(out, `"verdict":"wrong"`) {
		t.Errorf("with something wrong it ends with %v and says %s", err, out)
	}
	secret := filepath.Join(dir, "address")
	if err := os.WriteFile(secret, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	has(examine(envDatabase+"_FILE="+secret), "wrong  "+envDatabase+"_FILE: "+secret+" is empty")
}

// Every name that the program reads is known to the doctor, who takes others for slips.
func TestKnownSettings(t *testing.T) {
	source, err := os.ReadFile("environment.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range settingName.FindAllString(string(source), -1) {
		if !slices.Contains(knownSettings(), name) {
			t.Errorf("no command's help names %s", name)
		}
	}
}
