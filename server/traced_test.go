package server_test

import (
	"net/netip"
	"strings"
	"testing"

	"go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"

	"relevel/events/pgdb"
	"relevel/events/pglog"
	"relevel/jobs/pgjobs"
	"relevel/server"
	"relevel/server/tracing"
	"relevel/server/watch"
)

// tracedSite is a server whose spans are kept in memory, to the statement.
func tracedSite(t *testing.T, change ...func(*server.Config)) (*site, *tracetest.InMemoryExporter) {
	t.Helper()
	kept := tracetest.NewInMemoryExporter()
	made := tracing.New(trace.NewTracerProvider(trace.WithSyncer(kept)))
	db, err := pgdb.Open(t.Context(), sharedDB(t).DSN(pgdb.App), made.Statements())
	must(t, err)
	t.Cleanup(db.Close)
	return newSite(t, append(change, func(c *server.Config) {
		c.Tracer, c.Log, c.Store = made, pglog.New(db), pgjobs.New(db)
		c.Photos.Objects = watch.Objects(c.Photos.Objects, watch.Unmetered{}, made)
	})...), kept
}

// spanPath is how a span is reached: the names of the spans that it lies in.
func spanPath(all tracetest.SpanStubs, s tracetest.SpanStub) string {
	for _, outer := range all {
		if outer.SpanContext.SpanID() == s.Parent.SpanID() && s.Parent.IsValid() {
			return spanPath(all, outer) + " > " + s.Name
		}
	}
	return s.Name
}

// wantSpan waits for a span that is reached so.
func wantSpan(t *testing.T, kept *tracetest.InMemoryExporter, want string) (found tracetest.SpanStub) {
	t.Helper()
	var have []string
	defer func() {
		if t.Failed() {
			t.Logf("there are\n%s", strings.Join(have, "\n"))
		}
	}()
	eventually(t, func() bool {
		all := kept.GetSpans()
		have = nil
		for _, s := range all {
			have = append(have, spanPath(all, s))
			if spanPath(all, s) == want {
				found = s
				return true
			}
		}
		return false
	})
	return found
}

// A request is traced to the statement, and nothing that a person wrote, no secret and
// no value is in any of it.
func TestRequestIsTraced(t *testing.T) {
	s, kept := tracedSite(t)
	c := s.firm("Canary & Sons")
	d := newDevice(t, c.newJob())
	body := batch(d.raw("note", `{"text":"canary"}`))
	a := c.send("POST", "/jobs/"+d.job.String()+"/events?canary=1", body).want(t, 200, nil)
	photo := smallJPEG(t)
	c.send("PUT", "/photos/"+sha(photo), photo, "Content-Type", "image/jpeg").want(t, 200, nil)
	c.send("GET", "/nothing/canary", nil).problem(t, 404, "")

	const events = "POST /api/v1/jobs/{job}/events"
	request := wantSpan(t, kept, events)
	wantSpan(t, kept, events+" > append > select head")
	wantSpan(t, kept, events+" > append > fold > refold")
	wantSpan(t, kept, "PUT /api/v1/photos/{sha256} > photo put > photo store put")
	wantSpan(t, kept, "GET none")
	line := s.told(a.header.Get("X-Request-Id"))
	if line["trace"] != request.SpanContext.TraceID().String() {
		t.Errorf("the line of the request names the trace %v", line["trace"])
	}
	for _, span := range kept.GetSpans() {
		text := span.Name + span.Status.Description
		for _, one := range span.Attributes {
			text += " " + one.Value.String()
		}
		if strings.Contains(strings.ToLower(text), "canary") || strings.Contains(text, c.token) || strings.Contains(text, sha(photo)) || len(span.Events) > 0 {
			t.Errorf("the span says %q and has %d events", text, len(span.Events))
		}
	}
}

// Whoever asks does not decide which trace a request is in, unless it is a proxy of ours.
func TestTracesOfStrangers(t *testing.T) {
	const theirs = "0af7651916cd43dd8448eb211c80319c"
	for name, test := range map[string]struct {
		proxies []netip.Prefix
		join    bool
	}{
		"Stranger": {nil, false},
		"Proxy":    {[]netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}, true},
	} {
		t.Run(name, func(t *testing.T) {
			s, kept := tracedSite(t, func(c *server.Config) { c.Proxies = test.proxies })
			s.firm("Level Best").send("GET", "/calc", nil, "Traceparent", "00-"+theirs+"-b7ad6b7169203331-01").want(t, 200, nil)
			if got := wantSpan(t, kept, "GET /api/v1/calc").SpanContext.TraceID().String(); (got == theirs) != test.join {
				t.Errorf("it is in the trace %s", got)
			}
		})
	}
}
