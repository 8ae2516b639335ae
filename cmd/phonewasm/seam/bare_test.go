//go:build !js

package seam_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// A program without its files and lines runs as before: stacks grow and are swept, deferred
// calls run, what breaks is caught. Where it falls it says in which function.
func TestBareRuns(t *testing.T) {
	file := filepath.Join(t.TempDir(), "stack.wasm")
	build := exec.Command("go", "build", "-gcflags=all=-l", "-ldflags=-s -w", "-o", file, "testdata/stack/main.go")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	whole, wholeFell := runStack(t, file)
	pack(t, file, "bare")
	bare, bareFell := runStack(t, file)
	if bare != whole || !strings.Contains(whole, "[501 502") {
		t.Errorf("bare it says\n%s and whole\n%s", bare, whole)
	}
	if !strings.Contains(wholeFell, "main.go:") || strings.Contains(bareFell, "main.go:") {
		t.Errorf("files are told of where they are, and not where they are gone:\n%s\n%s", wholeFell, bareFell)
	}
	for _, want := range []string{"index out of range [8] with length 8", "main.fall(", "main.main(", "?:0"} {
		if !strings.Contains(bareFell, want) {
			t.Errorf("the listing lacks %q:\n%s", want, bareFell)
		}
	}
}

// What has tables that are not known is not touched: a build says so.
func TestBareRefuses(t *testing.T) {
	file := filepath.Join(t.TempDir(), "some.wasm")
	write(t, file, []byte("\x00asm\x01\x00\x00\x00\x0b\x0a\x01\x00\x41\x08\x0b\x04none"))
	out, err := packing(file, "bare").CombinedOutput()
	if err == nil || !strings.Contains(string(out), "another version of Go?") {
		t.Errorf("%v: %s", err, out)
	}
}

// The tables that are taken out are those that the toolchain calls so: under another number
// there may be what the collector needs.
func TestBarePlaces(t *testing.T) {
	out, err := exec.Command("node", "-p", `JSON.stringify(require("../bare.cjs").places)`).Output()
	if err != nil {
		t.Fatal(err)
	}
	var places map[string]int
	if err := json.Unmarshal(out, &places); err != nil || len(places) != 4 {
		t.Fatalf("%s: %v", out, err)
	}
	source := read(t, filepath.Join(goroot(t), "src/internal/abi/symtab.go"))
	for name, place := range places {
		if !regexp.MustCompile(fmt.Sprintf(`\b%s\s*= %d\b`, name, place)).Match(source) {
			t.Errorf("%s is not %d in this toolchain", name, place)
		}
	}
}

// runStack runs the program, which falls, and returns what it printed and its listing.
func runStack(t *testing.T, wasm string) (said, fell string) {
	t.Helper()
	var out, complaints bytes.Buffer
	run := exec.Command("node", filepath.Join(goroot(t), "lib/wasm/wasm_exec_node.js"), wasm)
	run.Stdout, run.Stderr = &out, &complaints
	if err := run.Run(); err == nil {
		t.Fatal("it did not fall")
	}
	return out.String(), complaints.String()
}
