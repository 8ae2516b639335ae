package events_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"relevel/events"
	"relevel/levelling/frozentest"
)

// released is where the lists of what releases froze lie: of each kind and version
// the digest of its fixture and of what that is decoded to.
const released = "testdata/released"

// What was stored by a release is read by every later program as it was then.
func TestReleasedFixtures(t *testing.T) {
	files, err := filepath.Glob("testdata/kinds/*.json")
	if err != nil {
		t.Fatal(err)
	}
	now := map[string]string{}
	for _, path := range files {
		stem := strings.TrimSuffix(filepath.Base(path), ".json")
		dash := strings.LastIndex(stem, "-")
		v, err := strconv.Atoi(stem[dash+1:])
		if err != nil {
			t.Fatalf("%s is not named by kind and version", path)
		}
		now[stem[:dash]+" "+stem[dash+1:]] = fixture(t, path, events.Kind(stem[:dash]), v)
	}
	for _, kind := range events.Kinds() {
		if _, there := now[string(kind)+" 1"]; !there {
			t.Errorf("the kind %s has no fixture", kind)
		}
	}
	frozentest.Hold(t, released, now)
}

func fixture(t *testing.T, path string, kind events.Kind, v int) string {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	body, err := events.Open(kind, v, raw)
	if err != nil {
		t.Fatalf("open %s: %v", path, err)
	}
	decoded, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	return frozentest.Digest(raw) + " " + frozentest.Digest(decoded)
}
