package tracing

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"

	"relevel/server/watch"
)

// traced returns a Tracing that keeps its spans in memory.
func traced(t *testing.T) (*Tracing, *tracetest.InMemoryExporter) {
	t.Helper()
	kept := tracetest.NewInMemoryExporter()
	made := New(trace.NewTracerProvider(trace.WithSyncer(kept)))
	t.Cleanup(func() {
		if err := made.Close(); err != nil {
			t.Error(err)
		}
	})
	return made, kept
}

// Spans lie in each other, and say that something failed, but not how.
func TestSpans(t *testing.T) {
	made, kept := traced(t)
	ctx, outer := made.Start(t.Context(), "request", slog.String(watch.Request, "r1"))
	_, inner := made.Start(ctx, "fold", slog.Int("events", 3))
	inner.End(errors.New("canary"))
	outer.Name("GET /jobs/{job}")
	outer.Say(slog.String("route", "/jobs/{job}"), slog.String(watch.Trace, "itself"))
	outer.End(nil)
	spans := kept.GetSpans()
	if len(spans) != 2 {
		t.Fatalf("%d spans", len(spans))
	}
	fold, request := spans[0], spans[1]
	if fold.Parent.SpanID() != request.SpanContext.SpanID() || request.Name != "GET /jobs/{job}" {
		t.Errorf("%q lies in %v", fold.Name, fold.Parent)
	}
	if fold.Status.Code != codes.Error || fold.Status.Description != "" || request.Status.Code != codes.Unset {
		t.Errorf("%+v and %+v", fold.Status, request.Status)
	}
	said := map[string]string{}
	for _, a := range append(fold.Attributes, request.Attributes...) {
		said[string(a.Key)] = a.Value.String()
	}
	if diff := cmp.Diff(map[string]string{"relevel.events": "3", "relevel.request": "r1", "http.route": "/jobs/{job}"}, said); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	if outer.Trace() != request.SpanContext.TraceID().String() {
		t.Errorf("the trace is %s", outer.Trace())
	}
}

// A trace goes on that a header names.
func TestJoin(t *testing.T) {
	made, kept := traced(t)
	const id = "0af7651916cd43dd8448eb211c80319c"
	ctx := made.Join(context.Background(), http.Header{"Traceparent": {"00-" + id + "-b7ad6b7169203331-01"}})
	_, s := made.Start(ctx, "request")
	s.End(nil)
	if got := kept.GetSpans()[0].SpanContext.TraceID().String(); got != id {
		t.Errorf("it is in the trace %s", got)
	}
}

// Statements are called by what they do to which table.
func TestStatementNames(t *testing.T) {
	for sql, want := range map[string]string{
		"SELECT set_config('app.firm', $1, true)":                                                "select set_config",
		"\n\t\tSELECT firm, id\n\t\tFROM person\n\t\tWHERE firm = $1":                            "select person",
		"SELECT seq FROM head WHERE firm = $1 FOR NO KEY UPDATE":                                 "select head",
		"INSERT INTO phone AS kept (firm) VALUES ($1) ON CONFLICT (firm) DO UPDATE SET seen = 1": "insert phone",
		"WITH h AS (UPDATE head SET seq = 1 RETURNING job) INSERT INTO event SELECT 1 FROM h":    "update head",
		"UPDATE task SET a = 1 FROM (SELECT firm FROM task FOR UPDATE SKIP LOCKED) AS due":       "update task",
		"DELETE FROM task WHERE firm = $1":                                                       "delete task",
		"commit":                                                                                 "commit",
		"-- ping":                                                                                "--",
		"":                                                                                       "nothing",
	} {
		if got := nameOf(sql); got != want {
			t.Errorf("%q is called %q, want %q", sql, got, want)
		}
	}
}
