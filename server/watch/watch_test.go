package watch_test

import (
	"bytes"
	"context"
	"encoding/json"
	"log/slog"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/server/watch"
)

// line logs one line and returns its attributes.
func line(t *testing.T, log func(*slog.Logger)) map[string]any {
	t.Helper()
	var out bytes.Buffer
	log(slog.New(watch.Lines(watch.Lines(slog.NewJSONHandler(&out, nil)))))
	got := map[string]any{}
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatalf("%v: %s", err, &out)
	}
	for _, usual := range []string{"time", "level", "msg"} {
		delete(got, usual)
	}
	return got
}

// A line says what its context is about, what was learned later too, and once.
func TestLines(t *testing.T) {
	ctx, about := watch.Begin(t.Context(), slog.String(watch.Request, "r1"))
	about.Set(watch.Firm, "f1")
	about.Set(watch.Firm, "f2")
	got := line(t, func(l *slog.Logger) { l.InfoContext(ctx, "told", "n", 1) })
	if diff := cmp.Diff(map[string]any{"request": "r1", "firm": "f2", "n": 1.0}, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	got = line(t, func(l *slog.Logger) { l.With("a", "b").InfoContext(ctx, "told", "firm", "its own") })
	if diff := cmp.Diff(map[string]any{"request": "r1", "firm": "its own", "a": "b"}, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// Work of which nobody said anything is logged like any other.
func TestLinesAboutNothing(t *testing.T) {
	watch.Of(context.Background()).Set(watch.Firm, "nobody's")
	got := line(t, func(l *slog.Logger) { l.Info("told", "n", 1) })
	if diff := cmp.Diff(map[string]any{"n": 1.0}, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// Work inside other work is about what it says itself.
func TestBeginInside(t *testing.T) {
	outer, _ := watch.Begin(t.Context(), slog.String(watch.Request, "r1"))
	inner, _ := watch.Begin(outer, slog.String(watch.Task, "t1"))
	got := line(t, func(l *slog.Logger) { l.InfoContext(inner, "told") })
	if diff := cmp.Diff(map[string]any{"task": "t1"}, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

func TestAboutIsShared(t *testing.T) {
	_, about := watch.Begin(t.Context())
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() { about.Set(watch.Job, "j"); about.Attrs() })
	}
	all.Wait()
	if n := len(about.Attrs()); n != 1 {
		t.Errorf("%d attributes, want one", n)
	}
}
