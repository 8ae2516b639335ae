package server_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"relevel/events/pgproof"
)

// A bundle is checked in a real browser, by somebody who has no account, without the
// network, and nothing is sent anywhere.
func TestVerifyInBrowser(t *testing.T) {
	node, chromium := browserTools(t)
	for _, built := range []string{"worker.js", "verify.wasm", "wasm_exec.js"} {
		if _, err := os.Stat("web/dist/verify/" + built); err != nil {
			t.Fatal("the check in the browser is not built: run `make phone`")
		}
	}
	s := newSite(t)
	b := newMadeJob(t, s)
	held, err := pgproof.New(s.db.App).LastCheckpoint(t.Context(), b.caller.firm, b.job)
	must(t, err)
	good := b.export(t, "")
	folder := t.TempDir()
	for name, data := range map[string][]byte{
		"good.zip": good, "changed.zip": bytes.Replace(good, []byte("two  spaces"), []byte("two--spaces"), 1),
		"letter.zip": []byte("a letter"), "held.txt": held.Note,
		"fork.txt": b.note(t, 5, [32]byte{1}),
	} {
		must(t, os.WriteFile(filepath.Join(folder, name), data, 0o600))
	}
	site, err := json.Marshal(map[string]any{"url": s.URL, "folder": folder, "chromium": chromium, "shots": os.Getenv("RELEVEL_TEST_SHOTS")})
	must(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), 8*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "verify.js"))
	run.Env = append(os.Environ(), "SITE="+string(site))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

// The page says nothing of any firm, can send nothing anywhere, and without scripts
// or what they need says how a bundle is checked.
func TestVerifyPage(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	a := s.file("GET", "/verify")
	if a.status != 200 || !bytes.Contains(a.body, []byte("relevel verify FILE")) {
		t.Errorf("%d %s", a.status, a.body)
	}
	if policy := a.header.Get("Content-Security-Policy"); !bytes.Contains([]byte(policy), []byte("connect-src 'none'")) {
		t.Error(policy)
	}
	if a := s.file("GET", "/verify/nothing"); a.status != 404 {
		t.Errorf("%d", a.status)
	}
}
