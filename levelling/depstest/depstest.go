// Package depstest checks, for the tests of the core packages, which way
// imports point and that the packages which also run on the phone stay pure:
// no network, no database, no logging, no pictures, no clock.
//
// Each core package holds its own allow list in a deps_test.go; this package
// only compares source with list. It reads every Go file that is not a test,
// whatever its build constraints, so that nothing hides behind GOOS.
package depstest

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
)

// module is the path of our own module; only imports below it have a direction.
const module = "relevel"

// Reasons holds import paths (or packages that are excused), each with the
// reason why it may be there.
type Reasons map[string]string

// Imports checks every package in the folder dir, whose import path is root,
// against what allowed says it may import of our own. A package that is not in
// allowed may import nothing of ours; an entry for a package that does not
// exist is no fault.
func Imports(t *testing.T, dir, root string, allowed map[string]Reasons) {
	t.Helper()
	files := parse(t, dir, root)
	report(t, unreasoned(allowed))
	report(t, unlisted(files, allowed))
}

// NoClock checks that no package in the folder dir reads the clock: time is a
// field or an argument. It excuses the packages in except, which must exist.
func NoClock(t *testing.T, dir, root string, except Reasons) {
	t.Helper()
	files := parse(t, dir, root)
	report(t, unreasoned(map[string]Reasons{"NoClock": except}))
	report(t, clockReaders(files, except))
}

// RunsOnPhone checks that nothing barred is reached by the named packages or
// patterns, at any depth, when they are built for the phone (js/wasm).
func RunsOnPhone(t *testing.T, packages ...string) {
	t.Helper()
	listed, err := listForPhone(packages...)
	if err != nil {
		t.Fatal(err)
	}
	if len(listed) == 0 {
		t.Fatalf("no packages match %v: nothing was checked", packages)
	}
	report(t, impure(listed))
}

func parse(t *testing.T, dir, root string) []file {
	t.Helper()
	files, err := parseTree(dir, root)
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		t.Fatalf("no Go files in %s: nothing was checked", dir)
	}
	return files
}

func report(t *testing.T, faults []string) {
	t.Helper()
	for _, fault := range faults {
		t.Error(fault)
	}
}

func unreasoned(lists map[string]Reasons) []string {
	var faults []string
	for _, list := range slices.Sorted(maps.Keys(lists)) {
		for entry, reason := range lists[list] {
			if reason == "" {
				faults = append(faults, fmt.Sprintf("%s: the entry %s gives no reason", list, entry))
			}
		}
	}
	slices.Sort(faults)
	return faults
}

func unlisted(files []file, allowed map[string]Reasons) []string {
	var faults []string
	for _, f := range files {
		for _, path := range f.imports() {
			if !below(path, module) {
				continue
			}
			if _, ok := allowed[f.pkg][path]; !ok {
				faults = append(faults, fmt.Sprintf("%s: %s may not import %s", f.name, f.pkg, path))
			}
		}
	}
	return faults
}

func clockReaders(files []file, except Reasons) []string {
	var faults []string
	excused := make(map[string]bool)
	for _, f := range files {
		reads := f.clockReads()
		if _, ok := except[f.pkg]; ok {
			excused[f.pkg] = excused[f.pkg] || len(reads) > 0
			continue
		}
		for _, at := range reads {
			faults = append(faults, at+": reads the clock; take the time as an argument")
		}
	}
	for _, pkg := range slices.Sorted(maps.Keys(except)) {
		if !excused[pkg] {
			faults = append(faults, pkg+" is excused from the clock rule and does not need to be")
		}
	}
	return faults
}

// barred are the packages that have no business on the phone, each with all
// that lies below it: it has the browser's own network, store, log and canvas.
// net itself is barred without what lies below it, of which net/url and
// net/netip only parse and the rest imports net.
var barred = []string{"net/http", "database/sql", "log/slog", "image"}

func isBarred(path string) bool {
	return path == "net" || slices.ContainsFunc(barred, func(b string) bool { return below(path, b) })
}

// impure names every import by which something barred is reached; what barred
// packages import in turn is not worth a line.
func impure(listed []listedPackage) []string {
	var faults []string
	for _, p := range listed {
		if isBarred(p.ImportPath) {
			continue
		}
		for _, path := range p.Imports {
			if isBarred(path) {
				faults = append(faults, fmt.Sprintf("under js/wasm %s imports %s", p.ImportPath, path))
			}
		}
	}
	slices.Sort(faults)
	return faults
}

// below reports whether path is root or lies in it.
func below(path, root string) bool {
	return path == root || strings.HasPrefix(path, root+"/")
}
