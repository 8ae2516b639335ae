// Package frozentest holds, for the tests of every package, what was released to
// what it was. A release leaves a list in a folder of testdata, named by its
// version: a line each with a name and what stood under it. A later program must
// give the same under every name of every list; what is new is in none of them yet
// and may change until the next release, whose list `make freeze` writes.
//
// A fault is mended in the program, or by a new version beside the old, and never
// in a list.
package frozentest

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// freeze is the release whose lists are written; `make freeze` gives it, and asks
// before whether that release is out already.
var freeze = flag.String("freeze", "", "write the lists of the `RELEASE` that is about to be made")

// Hold compares what the program gives now, value by name, with the lists in a
// folder. Neither names nor values have line ends, and names no tabs.
func Hold(t *testing.T, folder string, now map[string]string) {
	t.Helper()
	if *freeze != "" {
		write(t, folder, now)
	}
	lists := Lists(t, folder)
	if len(lists) == 0 {
		t.Fatalf("%s has no list of a release: nothing was held", folder)
	}
	for _, fault := range faults(lists, now) {
		t.Error(fault)
	}
}

func faults(lists []List, now map[string]string) (out []string) {
	for _, l := range lists {
		for _, name := range l.Names() {
			got, there := now[name]
			switch want := l.Values[name]; {
			case !there:
				out = append(out, fmt.Sprintf("%s of release %s is gone: it must stay for ever", name, l.Release))
			case got != want:
				out = append(out, fmt.Sprintf("%s is no longer as it was released in %s:\n got %s\nwant %s", name, l.Release, got, want))
			}
		}
	}
	return out
}

// List is what one release froze.
type List struct {
	Release string
	Values  map[string]string
}

// Names are those of a list in order.
func (l List) Names() []string {
	names := make([]string, 0, len(l.Values))
	for name := range l.Values {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// Lists reads the lists of a folder. None is an empty slice.
func Lists(t *testing.T, folder string) []List {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "[0-9]*.[0-9]*.[0-9]*"))
	if err != nil {
		t.Fatal(err)
	}
	lists := []List{}
	for _, path := range files {
		lists = append(lists, read(t, path))
	}
	return lists
}

func read(t *testing.T, path string) List {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	l := List{Release: filepath.Base(path), Values: map[string]string{}}
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		name, value, ok := strings.Cut(lines.Text(), "\t")
		if _, twice := l.Values[name]; !ok || twice {
			t.Fatalf("%s: the line %q is no name, tab and value, or stands twice", path, lines.Text())
		}
		l.Values[name] = value
	}
	if err := lines.Err(); err != nil || len(l.Values) == 0 {
		t.Fatalf("%s holds nothing, or cannot be read: %v", path, err)
	}
	return l
}

// write makes the list of a release: all that no earlier one holds.
func write(t *testing.T, folder string, now map[string]string) {
	t.Helper()
	rest := fresh(Lists(t, folder), *freeze, now)
	if len(rest.Values) == 0 {
		return
	}
	var text strings.Builder
	for _, name := range rest.Names() {
		fmt.Fprintf(&text, "%s\t%s\n", name, rest.Values[name])
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, *freeze), []byte(text.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

// fresh is what is now and in no list of an earlier release.
func fresh(lists []List, release string, now map[string]string) List {
	rest := List{Release: release, Values: maps.Clone(now)}
	for _, l := range lists {
		if l.Release != release {
			maps.DeleteFunc(rest.Values, func(name, _ string) bool { _, held := l.Values[name]; return held })
		}
	}
	return rest
}

// Freezing reports for which release lists are written now, "" for none.
func Freezing() string { return *freeze }

// Released reports which release a name is held by, "" where none does.
func Released(t *testing.T, folder, name string) string {
	t.Helper()
	for _, l := range Lists(t, folder) {
		if _, there := l.Values[name]; there {
			return l.Release
		}
	}
	return ""
}

// Digest is the SHA-256 of bytes, as lists have it.
func Digest(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}
