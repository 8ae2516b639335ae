package bundle_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/proof"
	"relevel/jobs/bundle"
	"relevel/levelling/frozentest"
)

// A bundle of every release lies in testdata, and is checked and read by every later
// program as it was: owners keep theirs for as long as the house stands. Beside each
// lies the verifier of the key that signed it.
func TestReleasedBundles(t *testing.T) {
	if release := frozentest.Freezing(); release != "" {
		freezeBundle(t, filepath.Join("testdata/released", release+".zip"))
	}
	files, err := filepath.Glob("testdata/released/*.zip")
	if err != nil || len(files) == 0 {
		t.Fatalf("no bundle of a release: %v", err)
	}
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			must(t, err)
			verifier, err := os.ReadFile(path + ".key")
			must(t, err)
			key, err := proof.ParseVerifier(strings.TrimSpace(string(verifier)))
			must(t, err)
			r := verified(t, data, bundle.Check{Trusted: []note.Verifier{key}})
			if r.Verdict != bundle.Holds {
				t.Fatal(r.Text())
			}
			for _, want := range []string{"7 records are as they were sealed", "1 record was erased at somebody's request", "a key that you know", "number 2 of 3"} {
				if !strings.Contains(r.Text(), want) {
					t.Errorf("%q is not in\n%s", want, r.Text())
				}
			}
		})
	}
}

// The forms of what a bundle holds: entries and fields are only added to.
func TestReleasedForms(t *testing.T) {
	s := fullSite(t)
	data := s.bundle()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	must(t, err)
	now := map[string]string{}
	for _, f := range z.File {
		in, err := f.Open()
		must(t, err)
		var b bytes.Buffer
		_, err = b.ReadFrom(in)
		must(t, err)
		name := strings.NewReplacer("00000001", "N", s.firm.String(), "FIRM").Replace(f.Name)
		switch {
		case strings.HasSuffix(name, ".json") && !strings.HasPrefix(name, "events/"):
			formOf(t, now, name, b.Bytes())
		case strings.HasSuffix(name, ".jsonl"):
			for line := range strings.Lines(b.String()) {
				formOf(t, now, name, []byte(line))
			}
		}
	}
	frozentest.Hold(t, "testdata/released/forms", now)
}

// formOf notes every path to a value in a document, with its sort.
func formOf(t *testing.T, forms map[string]string, name string, document []byte) {
	t.Helper()
	var v any
	must(t, json.Unmarshal(document, &v))
	var walk func(path string, v any)
	walk = func(path string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for key, inner := range v {
				walk(path+"."+key, inner)
			}
		case []any:
			for _, inner := range v {
				walk(path+"[]", inner)
			}
		case string:
			forms[path] = "text"
		case float64:
			forms[path] = "number"
		case bool:
			forms[path] = "yes or no"
		}
	}
	walk(name, v)
}

// fullSite is a job in which each thing that a bundle may hold is there.
func fullSite(t *testing.T) *site {
	t.Helper()
	s := survey(t)
	s.add(events.KindNote, `{"text":"who lives here"}`)
	s.add(events.KindErased, `{"records":[7],"why":"asked for"}`)
	s.log.Erase(s.firm, s.job, 7)
	s.sign()
	s.logged()
	return s
}

// freezeBundle writes the bundle of a release, once.
func freezeBundle(t *testing.T, path string) {
	t.Helper()
	if _, err := os.Stat(path); err == nil {
		return
	}
	s := fullSite(t)
	must(t, os.MkdirAll(filepath.Dir(path), 0o755))
	must(t, os.WriteFile(path, s.bundle(), 0o644))
	must(t, os.WriteFile(path+".key", []byte(s.keys[0].Verifier+"\n"), 0o644))
}
