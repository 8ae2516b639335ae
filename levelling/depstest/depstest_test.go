package depstest

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

const tree = "testdata/tree"

func TestUnlistedImportsAreNamed(t *testing.T) {
	allowed := map[string]Reasons{
		"relevel/tree":         {"relevel/events": "it stores them"},
		"relevel/tree/notyet":  {"relevel/events": "a package still to come"},
		"relevel/tree/adapter": {},
	}
	got := unlisted(parse(t, tree, "relevel/tree"), allowed)
	want := []string{
		"testdata/tree/adapter/adapter.go: relevel/tree/adapter may not import relevel/events",
		"testdata/tree/root.go: relevel/tree may not import relevel/server",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestEntriesNeedAReason(t *testing.T) {
	got := unreasoned(map[string]Reasons{"relevel/jobs": {"relevel/events": "", "relevel/levelling": "heights"}})
	want := []string{"relevel/jobs: the entry relevel/events gives no reason"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestClockReadersAreNamed(t *testing.T) {
	got := clockReaders(parse(t, tree, "relevel/tree"), nil)
	want := []string{
		"testdata/tree/adapter/adapter.go:6:2: reads the clock; take the time as an argument",
		"testdata/tree/pure/pure.go:8:16: reads the clock; take the time as an argument",
		"testdata/tree/pure/pure.go:10:48: reads the clock; take the time as an argument",
		"testdata/tree/pure/pure.go:10:65: reads the clock; take the time as an argument",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestExcusesFromTheClockMustBeNeeded(t *testing.T) {
	except := Reasons{
		"relevel/tree":         "imports no clock",
		"relevel/tree/adapter": "stamps files",
		"relevel/tree/pure":    "measures",
	}
	got := clockReaders(parse(t, tree, "relevel/tree"), except)
	want := []string{"relevel/tree is excused from the clock rule and does not need to be"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestBarredPackagesAreNamedWithWhatReachesThem(t *testing.T) {
	listed, err := listForPhone("net/mail", "net/url")
	if err != nil {
		t.Fatal(err)
	}
	got := impure(listed)
	want := []string{
		"under js/wasm net/mail imports net",
		"under js/wasm net/textproto imports net",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestWhatIsBarred(t *testing.T) {
	want := map[string]bool{
		"net": true, "net/http": true, "net/http/httptrace": true, "database/sql/driver": true,
		"log/slog": true, "image": true, "image/jpeg": true,
		"net/url": false, "net/netip": false, "log": false, "imagery": false,
	}
	for path, barred := range want {
		if got := isBarred(path); got != barred {
			t.Errorf("isBarred(%q) = %v", path, got)
		}
	}
}
