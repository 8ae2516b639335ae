package watch

import (
	"context"
	"log/slog"
	"net/http"
)

// Tracer writes down what took how long inside what else.
type Tracer interface {
	// Start begins a span inside that of the context. What it says of itself are ids
	// and words of this program.
	Start(ctx context.Context, name string, say ...slog.Attr) (context.Context, Span)

	// Join returns a context in the trace that a request's header names, if it names
	// one. The caller has seen that whoever sent the header may be believed.
	Join(ctx context.Context, header http.Header) context.Context
}

// Span is one thing that takes time. It is used by one goroutine at a time.
type Span interface {
	// Name says what it turned out to be.
	Name(name string)

	// Say says more of it.
	Say(more ...slog.Attr)

	// End ends it, as failed unless err is nil. What the error says stays in the log,
	// where the lines of the trace are: it may quote an address that somebody gave.
	End(err error)

	// Trace is the id of the trace that it is in, "" where nothing is traced.
	Trace() string
}

// Untraced traces nothing.
type Untraced struct{}

// Start implements Tracer.
func (Untraced) Start(ctx context.Context, _ string, _ ...slog.Attr) (context.Context, Span) {
	return ctx, noSpan{}
}

// Join implements Tracer.
func (Untraced) Join(ctx context.Context, _ http.Header) context.Context { return ctx }

type noSpan struct{}

func (noSpan) Name(string)      {}
func (noSpan) Say(...slog.Attr) {}
func (noSpan) End(error)        {}
func (noSpan) Trace() string    { return "" }
