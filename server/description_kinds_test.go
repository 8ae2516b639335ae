package server_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"relevel/events"
)

// fixture is a kind of event with an example of its body.
type fixture struct {
	name string
	body map[string]any
	text json.RawMessage // the same with its fields in order
}

func kindsWithFixtures(t *testing.T) (all []fixture) {
	t.Helper()
	for _, kind := range events.Kinds() {
		text, err := os.ReadFile(filepath.Join("..", "events", "testdata", "kinds", string(kind)+"-1.json"))
		must(t, err)
		one := fixture{name: string(kind), text: text}
		must(t, json.Unmarshal(text, &one.body))
		all = append(all, one)
	}
	return all
}

// envelope is an event with a body.
func (f fixture) envelope(t *testing.T, body map[string]any) string {
	t.Helper()
	text, err := json.Marshal(body)
	must(t, err)
	d := newDevice(t, newID(t))
	d.seq = 1
	return d.envelope(newID(t), f.name, string(text))
}

// opens reports whether a body can be used.
func (f fixture) opens(t *testing.T, body map[string]any) bool {
	t.Helper()
	text, err := json.Marshal(body)
	must(t, err)
	_, err = events.Open(events.Kind(f.name), 1, text)
	return err == nil
}
