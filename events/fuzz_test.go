package events_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"relevel/events"
)

// What is read as an id or a digest is written back so that it is read as the same.
func FuzzNames(f *testing.F) {
	for _, text := range []string{
		"0190c5a2-3b10-7a00-8000-000000000001", "0190C5A2-3B10-7A00-8000-000000000001", "0190c5a23b107a008000000000000001",
		strings.Repeat("ab", 32), strings.Repeat("-", 36), strings.Repeat("g", 36), "0190c5a2-3b10-7a00-8000-000000000001/" + strings.Repeat("ab", 32) + "-320", "320", "original", "",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if id, err := events.ParseID(text); err == nil {
			if again, err := events.ParseID(id.String()); err != nil || again != id {
				t.Errorf("%q is %s, which is read as %s, %v", text, id, again, err)
			}
		}
		if d, err := events.ParseDigest(text); err == nil {
			if again, err := events.ParseDigest(d.String()); err != nil || again != d {
				t.Errorf("%q is %s, which is read as %s, %v", text, d, again, err)
			}
		}
		events.ParseSize(text)
		if k, ok := events.ParseKey(text); ok && k.String() != text {
			t.Errorf("%q is read as the key %s", text, k)
		}
		if out, err := json.Marshal(text); err == nil {
			var id events.ID
			var d events.Digest
			if json.Unmarshal(out, &id) == nil && id.IsZero() && text != id.String() && strings.Trim(text, "0-") != "" {
				t.Errorf("%q is read as no id", text)
			}
			json.Unmarshal(out, &d)
		}
	})
}

// What is kept apart can be read, recorded again and told of, whatever it is.
func FuzzQuarantined(f *testing.F) {
	raw, _ := json.Marshal(envelope())
	f.Add(raw, int64(1_700_000_000_000), 1)
	f.Add([]byte(`{"at":"9999-12-31T23:59:59Z","offset_ms":9223372036854775807,"v":-1}`), int64(-1), 0)
	f.Add([]byte(`{"kind":"erased","job":7,"files":[{"sha256":"x"}],"body":null}`), int64(0), -1)
	f.Fuzz(func(t *testing.T, raw []byte, ms int64, n int) {
		q := events.Quarantined{Raw: raw, At: time.UnixMilli(ms % (1 << 46)).UTC()}
		again := q.Again(events.ID{1}, n)
		if again.Job != (events.ID{1}) || again.From != q.Key() {
			t.Errorf("it is recorded of another job or without where it comes from: %+v", again)
		}
		if q.Acceptable() != nil {
			return
		}
		out, err := json.Marshal(again)
		if err != nil {
			t.Fatalf("what can be recorded cannot be written: %v", err)
		}
		if _, err := events.Receive(out); err != nil {
			t.Errorf("what can be recorded is not received: %v\n%s", err, out)
		}
	})
}
