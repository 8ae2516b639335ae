package server_test

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// Two firms in two browsers: each follows the links of the other.
func TestFirmsInTwoBrowsers(t *testing.T) {
	node, chromium := browserTools(t)
	clock := newHandClock()
	s := newSite(t, withClock(clock))
	one, two := newWorld(t, s, clock), newWorld(t, s, clock)
	type firm struct {
		Token   string `json:"token"`
		Job     string `json:"job"`
		Word    string `json:"word"`
		Support string `json:"support"`
	}
	told := map[string]any{"url": s.URL, "chromium": chromium, "firms": []firm{
		{one.token, one.names["job"], one.word, one.names["support"]},
		{two.token, two.names["job"], two.word, two.names["support"]},
	}}
	text, err := json.Marshal(told)
	must(t, err)
	before := s.atRest(t, one, two)
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	run := exec.CommandContext(ctx, node, filepath.Join("web", "browsertest", "firms.js"))
	run.Env = append(os.Environ(), "SITE="+string(text))
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
	after := []map[string]string{s.everythingOf(t, one), s.everythingOf(t, two)}
	for i := range after { // each entered, and looked at its own
		after[i]["session"], after[i]["trail"] = before[i]["session"], before[i]["trail"]
	}
	if diff := cmp.Diff(before, after); diff != "" {
		t.Errorf("following each other's links changed something (-before +after):\n%s", diff)
	}
}

// atRest is all that some firms have, once nothing works behind their requests any more:
// when two looks a while apart show the same.
func (s *site) atRest(t *testing.T, worlds ...*world) []map[string]string {
	t.Helper()
	look := func() (all []map[string]string) {
		for _, w := range worlds {
			all = append(all, s.everythingOf(t, w))
		}
		return all
	}
	last := look()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); {
		time.Sleep(time.Second)
		now := look()
		if cmp.Equal(last, now) {
			return now
		}
		last = now
	}
	t.Fatal("something goes on behind the requests")
	return nil
}
