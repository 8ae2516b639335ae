package main

import (
	"context"
	"log/slog"

	"github.com/jackc/pgx/v5"

	"relevel/levelling"
	"relevel/server"
	"relevel/server/tracing"
	"relevel/server/watch"
)

// The variables by which OpenTelemetry is told where traces go. The exporter reads them
// itself, and more: these alone say whether there are any.
const (
	envTraces         = "OTEL_EXPORTER_OTLP_ENDPOINT"
	envTracesAlone    = "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT"
	envTracesProtocol = "OTEL_EXPORTER_OTLP_PROTOCOL"
	envTracesExporter = "OTEL_TRACES_EXPORTER"
	envTracesOff      = "OTEL_SDK_DISABLED"
)

// readTraces says whether traces are wanted.
func readTraces(env environment) (bool, error) {
	if env[envTracesOff] == "true" || env[envTracesExporter] == "none" || env[envTraces] == "" && env[envTracesAlone] == "" {
		return false, nil
	}
	if p := env[envTracesProtocol]; p != "" && p != "http/protobuf" {
		return false, levelling.Bad(envTracesProtocol, "http/protobuf, or left out: traces go over no other")
	}
	return true, nil
}

// traced opens what traces, nil where nobody asked for it.
func (s settings) traced(ctx context.Context, log *slog.Logger) (*tracing.Tracing, error) {
	if !s.traces {
		return nil, nil
	}
	return tracing.Open(ctx, version, log)
}

// tracedIn has what a server is going to do traced.
func tracedIn(c *server.Config, t *tracing.Tracing) {
	if t == nil {
		return
	}
	c.Tracer = t
	c.Photos.Objects = watch.Objects(c.Photos.Objects, watch.Unmetered{}, t)
}

// tracers is what sees the statements that go to the database.
func tracers(t *tracing.Tracing) []pgx.QueryTracer {
	if t == nil {
		return nil
	}
	return []pgx.QueryTracer{t.Statements()}
}
