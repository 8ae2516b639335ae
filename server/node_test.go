package server_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

// nodeTool finds node and what npm installs for the tests under it.
func nodeTool(t *testing.T) string {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatalf("node is needed: install Debian's nodejs, 18 or newer: %v", err)
	}
	if _, err := os.Stat("web/node_modules/esbuild"); err != nil {
		t.Fatal("what bundles the scripts is needed: run `make test`, or `npm ci` in server/web")
	}
	return node
}

// bundled makes dist/test of src/test, once for all tests.
var bundled = sync.OnceValues(func() ([]byte, error) {
	return exec.Command("node", "web/build.mjs", "--tests").CombinedOutput()
})

func bundleNodeTests(t *testing.T) {
	t.Helper()
	if out, err := bundled(); err != nil {
		t.Fatalf("bundle the tests: %v\n%s", err, out)
	}
}

// The tests of what the phone's app does without a browser: its store, its wire,
// its sending.
func TestPhoneUnderNode(t *testing.T) {
	node := nodeTool(t)
	bundleNodeTests(t)
	tests, err := filepath.Glob("web/dist/test/*.test.js")
	must(t, err)
	if len(tests) == 0 {
		t.Fatal("no tests were bundled")
	}
	ctx, cancel := context.WithTimeout(t.Context(), 3*time.Minute)
	defer cancel()
	if out, err := exec.CommandContext(ctx, node, append([]string{"--test"}, tests...)...).CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
