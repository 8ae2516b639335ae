package main

import (
	"bytes"
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
)

// served makes a job with a note on a server of its own, and ends it again.
func served(t *testing.T, dir string) (job string) {
	t.Helper()
	p, first := serveFirst(t, dir)
	job = noted(t, first)
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Fatalf("%v: %s", err, p.errs)
	}
	return job
}

// noted makes a job with two notes.
func noted(t *testing.T, first ready) (job string) {
	t.Helper()
	var made struct{ ID string }
	ask(t, first, "/jobs", `{"name":"14 Wattle Street","zone":"UTC"}`, &made)
	event := `{"id":"0190c5a2-3b10-7a00-8000-00000000000%d","job":"` + made.ID + `","kind":"note","v":1,"at":"2026-03-02T10:15:00.250+11:00",
		"device":"0190c5a2-3b10-7a00-8000-0000000000dd","device_seq":%d,"seen_seq":0,"by":"","body":{"text":"note %d"}}`
	var all []string
	for _, n := range []string{"1", "2"} {
		all = append(all, strings.ReplaceAll(event, "%d", n))
	}
	ask(t, first, "/jobs/"+made.ID+"/events", `{"events":[`+strings.Join(all, ",")+`]}`, nil)
	return made.ID
}

func ask(t *testing.T, first ready, path, body string, into any) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), "POST", first.URL+"/api/v1"+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+first.Token)
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode >= 300 {
		t.Fatalf("%s: %d", path, resp.StatusCode)
	}
	if into != nil {
		if err := json.NewDecoder(resp.Body).Decode(into); err != nil {
			t.Fatal(err)
		}
	}
}

// relevel runs a command in this process.
func relevel(t *testing.T, args ...string) (status int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	status = run(t.Context(), args, nil, nil, &o, &e)
	return status, o.String(), e.String()
}

var nothingSigned = regexp.MustCompile(`No checkpoint is here|came after the checkpoint`)

// A job goes out, is checked, comes in elsewhere and goes out as it was; what is erased
// there is said to be, and everything else holds.
func TestBundleCommands(t *testing.T) {
	dir, other := filepath.Join(openFolder(t), "data"), filepath.Join(openFolder(t), "data")
	job := served(t, dir)
	folder := t.TempDir()
	first, again, erased := filepath.Join(folder, "first.zip"), filepath.Join(folder, "again.zip"), filepath.Join(folder, "erased.zip")
	do := func(want string, args ...string) {
		t.Helper()
		if status, out, errs := relevel(t, args...); status != exitOK || !strings.Contains(out, want) {
			t.Fatalf("%v: status %d: %s%s", args, status, out, errs)
		}
	}
	holds := func(path, want string) {
		t.Helper()
		status, out, errs := relevel(t, "verify", path)
		wanted := exitOK
		if nothingSigned.MatchString(out) {
			wanted = exitUnsure
		}
		if status != wanted || !strings.Contains(out, want) {
			t.Fatalf("verify: status %d: %s%s", status, out, errs)
		}
	}
	do("14 Wattle Street, records 2", "export", "--data", dir, "--quiet", "--out", first, job)
	holds(first, "2 records are as they were sealed")
	do("records 2", "import", "--data", other, "--quiet", first)
	do("records 2", "import", "--data", other, "--quiet", first)
	do("records 2", "export", "--data", other, "--quiet", "--out", again, job)
	was, err := os.ReadFile(first)
	if err != nil {
		t.Fatal(err)
	}
	if now, err := os.ReadFile(again); err != nil || !bytes.Equal(was, now) {
		t.Errorf("what was imported goes out as other bytes (%v)", err)
	}
	do("erased: records 1 in 1 jobs", "erase", "--data", other, "--quiet", "--job", job, "--records", "1", "--why", "asked for")
	do("records 3", "export", "--data", other, "--quiet", "--out", erased, job)
	holds(erased, "1 record was erased at somebody's request, as record 3 says")
	if now, _ := os.ReadFile(erased); bytes.Contains(now, []byte("note 1")) {
		t.Error("what was erased is still there")
	}
	changed := filepath.Join(folder, "changed.zip")
	if err := os.WriteFile(changed, bytes.Replace(was, []byte("note 2"), []byte("note 3"), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	if status, out, _ := relevel(t, "verify", changed); status != exitFailed || !strings.Contains(out, "record 2 (note) is not as it was sealed") {
		t.Errorf("status %d: %s", status, out)
	}
	if status, _, errs := relevel(t, "import", "--data", other, "--quiet", changed); status != exitFailed || !strings.Contains(errs, "does not hold") {
		t.Errorf("status %d: %s", status, errs)
	}
}

// What makes no sense is said before anything is opened.
func TestBundleCommandsRefuse(t *testing.T) {
	letter := filepath.Join(t.TempDir(), "letter")
	if err := os.WriteFile(letter, []byte("a letter"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		args []string
		says string
	}{
		{[]string{"verify"}, "takes one bundle"},
		{[]string{"verify", letter}, "not a bundle that can be read"},
		{[]string{"verify", letter + "s"}, "no such file"},
		{[]string{"verify", "--key", "none", letter}, "neither a key nor a file"},
		{[]string{"export", "here"}, "not an id"},
		{[]string{"import"}, "takes the file"},
		{[]string{"erase", "--why", "asked"}, "say what"},
		{[]string{"erase", "--why", "asked", "--job", "0190c5a2-3b10-7a00-8000-0000000000dd", "--records", "9-3"}, "3,7-9"},
		{[]string{"erase", "--person", "0190c5a2-3b10-7a00-8000-0000000000dd"}, "why"},
	} {
		if status, _, errs := relevel(t, test.args...); status != exitBadInput || !strings.Contains(errs, test.says) {
			t.Errorf("%v: status %d: %s", test.args, status, errs)
		}
	}
}
