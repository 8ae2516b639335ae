// Package tracing writes down what took how long inside what else, as OpenTelemetry
// does, and sends it over OTLP to whatever the standard variables name. It is a
// watch.Tracer, and sees the statements that go to the database.
//
// What stands in a span are ids and words of this program: patterns of addresses and no
// addresses, the verb and table of a statement and neither its text nor its values, that
// something failed and not what the error says. The rest is in the log, under the id of
// the trace.
package tracing

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"time"

	"go.opentelemetry.io/otel"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/exporters/otlp/otlptrace/otlptracehttp"
	"go.opentelemetry.io/otel/propagation"
	"go.opentelemetry.io/otel/sdk/resource"
	"go.opentelemetry.io/otel/sdk/trace"
	api "go.opentelemetry.io/otel/trace"

	"relevel/server/watch"
)

// scope names whose spans they are.
const scope = "relevel"

// flushTime bounds how long what is not sent yet may take when the program ends.
const flushTime = 5 * time.Second

// Tracing is a watch.Tracer, and a tracer for connections to the database. The nil
// Tracing is none: take watch.Untraced for it.
type Tracing struct {
	provider *trace.TracerProvider
	tracer   api.Tracer
	header   propagation.TraceContext
	names    statements
}

// Open sends spans to the collector that the environment of the process names
// (OTEL_EXPORTER_OTLP_ENDPOINT and its like), which the exporter reads by itself, as it
// does how many of the traces are kept (OTEL_TRACES_SAMPLER). A collector that is away
// costs spans and nothing else.
func Open(ctx context.Context, version string, log *slog.Logger) (*Tracing, error) {
	otel.SetErrorHandler(otel.ErrorHandlerFunc(func(err error) { log.Warn("traces were not sent", "err", err) }))
	exporter, err := otlptracehttp.New(ctx)
	if err != nil {
		return nil, fmt.Errorf("prepare to send traces: %w", err)
	}
	about, err := resource.New(ctx,
		resource.WithAttributes(attribute.String("service.name", "relevel"), attribute.String("service.version", version)),
		resource.WithFromEnv(), resource.WithTelemetrySDK())
	if err != nil {
		return nil, fmt.Errorf("read what traces say of the server (OTEL_RESOURCE_ATTRIBUTES): %w", err)
	}
	return New(trace.NewTracerProvider(trace.WithBatcher(exporter), trace.WithResource(about))), nil
}

// New traces by a provider, which ends with the Tracing.
func New(provider *trace.TracerProvider) *Tracing {
	return &Tracing{provider: provider, tracer: provider.Tracer(scope)}
}

// Close sends what is not sent yet.
func (t *Tracing) Close() error {
	if t == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), flushTime)
	defer cancel()
	if err := t.provider.Shutdown(ctx); err != nil {
		return fmt.Errorf("send the last traces: %w", err)
	}
	return nil
}

// Start implements watch.Tracer.
func (t *Tracing) Start(ctx context.Context, name string, say ...slog.Attr) (context.Context, watch.Span) {
	kind := api.SpanKindInternal
	if slices.ContainsFunc(say, func(a slog.Attr) bool { return a.Key == watch.Request }) {
		kind = api.SpanKindServer
	}
	ctx, s := t.tracer.Start(ctx, name, api.WithSpanKind(kind), api.WithAttributes(attributes(say)...))
	return ctx, span{s}
}

// Join implements watch.Tracer.
func (t *Tracing) Join(ctx context.Context, header http.Header) context.Context {
	return t.header.Extract(ctx, propagation.HeaderCarrier(header))
}

type span struct{ api.Span }

func (s span) Name(name string)      { s.SetName(name) }
func (s span) Say(more ...slog.Attr) { s.SetAttributes(attributes(more)...) }

func (s span) End(err error) {
	if err != nil {
		s.SetStatus(codes.Error, "")
	}
	s.Span.End()
}

func (s span) Trace() string {
	if at := s.SpanContext(); at.HasTraceID() {
		return at.TraceID().String()
	}
	return ""
}

// named are the names that others know what is said under by.
var named = map[string]attribute.Key{
	"status": "http.response.status_code",
	"route":  "http.route",
}

func attributes(say []slog.Attr) []attribute.KeyValue {
	all := make([]attribute.KeyValue, 0, len(say))
	for _, a := range say {
		if a.Key == watch.Trace {
			continue // a span is in it
		}
		key, known := named[a.Key]
		if !known {
			key = attribute.Key(scope + "." + a.Key)
		}
		if a.Value.Kind() == slog.KindInt64 {
			all = append(all, key.Int64(a.Value.Int64()))
		} else {
			all = append(all, key.String(a.Value.String()))
		}
	}
	return all
}
