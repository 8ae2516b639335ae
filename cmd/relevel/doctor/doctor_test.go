package doctor

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/server/signing"
)

// patience bounds how long a fault may take to show, as when a setting is read anew.
const patience = 60 * time.Second

// healthy is an installation in a folder, as after its first start, without a database.
func healthy(t *testing.T) Installation {
	t.Helper()
	i := Installation{
		Version: "0.1.0", Env: map[string]string{}, Known: []string{"RELEVEL_URL", "RELEVEL_DATABASE_URL"},
		Data: t.TempDir(), Now: time.Now, Servers: 1,
	}
	i.Keys = filepath.Join(i.Data, "signing-keys")
	must(t, os.Mkdir(filepath.Join(i.Data, "photos"), 0o700))
	_, err := signing.OpenRing(i.Keys, "levels.example", time.Now(), rand.Reader)
	must(t, err)
	return i
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// examined looks at everything but the machine that the test runs on.
func examined(t *testing.T, i Installation) (all []Finding) {
	t.Helper()
	for _, f := range Examine(context.Background(), i) {
		if f.Group != "Machine" {
			all = append(all, f)
		}
	}
	return all
}

// fault is something that is wrong on purpose, and the line that has to say so.
type fault struct {
	name    string
	set     func(t *testing.T, i *Installation) // what is other about the installation
	group   string
	check   string
	verdict Verdict
	says    string // part of the line
	cure    string // part of what to do
}

// finds looks until the line is there: some faults take a moment to show.
func (f fault) finds(t *testing.T, i Installation) {
	t.Helper()
	var last []Finding
	for until := time.Now().Add(patience); time.Now().Before(until); time.Sleep(200 * time.Millisecond) {
		last = examined(t, i)
		for _, one := range last {
			if one.Group == f.group && one.Check == f.check && one.Verdict == f.verdict && strings.Contains(one.Says, f.says) && strings.Contains(one.Cure, f.cure) {
				return
			}
		}
		if f.set != nil { // it was so from the start
			break
		}
	}
	var b bytes.Buffer
	must(t, Print(&b, last))
	t.Errorf("no line of %s says %s, %s: %q, and to do %q:\n%s", f.group, f.check, f.verdict, f.says, f.cure, b.String())
}

func (f fault) tried(t *testing.T, i Installation) {
	t.Helper()
	f.set(t, &i)
	f.finds(t, i)
}

// soundExcept fails for each line that is not ok, but those of these checks.
func soundExcept(t *testing.T, all []Finding, except ...string) {
	t.Helper()
	for _, f := range all {
		if f.Verdict != OK && !strings.Contains(strings.Join(except, " "), f.Check) {
			t.Errorf("%s %s says %s: %s (%s)", f.Group, f.Check, f.Verdict, f.Says, f.Cure)
		}
	}
}

func TestSettings(t *testing.T) {
	in := func(setting string, folder os.FileMode, text string, mode os.FileMode) func(*testing.T, *Installation) {
		return func(t *testing.T, i *Installation) {
			dir := t.TempDir()
			must(t, os.Chmod(filepath.Dir(dir), 0o755)) // which is otherwise closed
			must(t, os.Chmod(dir, folder))
			path := filepath.Join(dir, "secret")
			if text != "none" {
				must(t, os.WriteFile(path, []byte(text), 0o600))
				must(t, os.Chmod(path, mode))
			}
			i.Env[setting+"_FILE"] = path
		}
	}
	file := func(text string, mode os.FileMode) func(*testing.T, *Installation) {
		return in("RELEVEL_DATABASE_URL", 0o755, text, mode)
	}
	for _, f := range []fault{
		{"Broken", func(_ *testing.T, i *Installation) { i.Broken = errors.New("RELEVEL_URL: an address") }, "Settings", "settings", Wrong, "RELEVEL_URL: an address", "mend this first"},
		{"SlipInAName", func(_ *testing.T, i *Installation) { i.Env["RELEVEL_DATABSE_URL"] = "x" }, "Settings", "names", Look, "nothing reads RELEVEL_DATABSE_URL", "a slip"},
		{"SecretMissing", file("none", 0), "Settings", "RELEVEL_DATABASE_URL_FILE", Wrong, "no such file", "make the file"},
		{"SecretEmpty", file(" \n", 0o600), "Settings", "RELEVEL_DATABASE_URL_FILE", Wrong, "is empty", "write the secret"},
		{"SecretOpen", file("x", 0o644), "Settings", "RELEVEL_DATABASE_URL_FILE", Look, "read by everybody (0644)", "chmod o="},
		{"SecretInAClosedFolder", in("RELEVEL_DATABASE_URL", 0o700, "x", 0o444), "Settings", "RELEVEL_DATABASE_URL_FILE", OK, "read from", ""},
		{"SecretOfAGroup", file("x", 0o440), "Settings", "RELEVEL_DATABASE_URL_FILE", OK, "read from", ""},
		{"NoMailYet", in("RELEVEL_MAIL_URL", 0o755, "\n", 0o600), "Settings", "RELEVEL_MAIL_URL_FILE", OK, "is empty", ""},
		{"SecretOK", file("x", 0o600), "Settings", "RELEVEL_DATABASE_URL_FILE", OK, "read from", ""},
		{"Stopped", func(_ *testing.T, i *Installation) { i.Embedded = true }, "Database", "database", Look, "does not run", "relevel serve"},
	} {
		t.Run(f.name, func(t *testing.T) { f.tried(t, healthy(t)) })
	}
	t.Run("Sound", func(t *testing.T) { soundExcept(t, examined(t, healthy(t)), "address") })
}

// A check that hangs or breaks off is told, and hides no other.
func TestBounded(t *testing.T) {
	hang := Check{"Other", "hangs", func(context.Context) []Finding { select {} }}
	if f := bounded(t.Context(), hang, time.Millisecond); len(f) != 1 || f[0].Verdict != Wrong || !strings.Contains(f[0].Says, "no answer within 1ms") {
		t.Errorf("%+v", f)
	}
	i := healthy(t)
	i.More = []Check{{"Backup", "breaks", func(context.Context) []Finding { panic("off") }}, {"Backup", "last", func(context.Context) []Finding { return ok("an hour ago") }}}
	all := examined(t, i)
	if last := all[len(all)-2:]; last[0].Verdict != Look || !strings.Contains(last[0].Says, "broke off: off") || last[1].Says != "an hour ago" || last[1].Check != "last" {
		t.Errorf("%+v", last)
	}
}

func TestPrint(t *testing.T) {
	all := []Finding{{"Keys", "file", OK, "there", ""}, {"Keys", "age", Look, "long\nago", "make\n another"}, {"Reach", "mail", Wrong, "away", "look"}}
	var text, lines bytes.Buffer
	must(t, Print(&text, all))
	if want := "Keys\n  ok     file: there\n  look   age: long ago\n         make another\nReach\n  wrong  mail: away\n         look\n1 ok, 1 to look at, 1 wrong\n"; text.String() != want {
		t.Errorf("got\n%s\nwant\n%s", text.String(), want)
	}
	must(t, PrintJSON(&lines, all))
	var last Finding
	for line := range strings.Lines(lines.String()) {
		must(t, json.Unmarshal([]byte(line), &last))
	}
	if last != all[2] || !Failed(all) || Failed(all[:2]) {
		t.Errorf("%+v", last)
	}
}
