// Package watch is how a server lets itself be seen at work: of what each line of its
// log is, what is counted and timed, and what is traced. It knows no program that
// counts or traces; those are behind its interfaces.
package watch

import (
	"context"
	"log/slog"
	"sync"
)

// The names under which lines and spans say what they are about. What they name is an
// id, or a word of this program: never what a person wrote.
const (
	Request = "request" // the id that an answer has in X-Request-Id
	Trace   = "trace"   // of the trace that the work is in
	Firm    = "firm"
	Job     = "job"
	Task    = "task" // the id of a task of the queue
	Kind    = "kind" // of a task
	Work    = "work" // what is done behind the requests, beside tasks
)

// About is what a piece of work is about. It is in the work's context and grows while
// the work goes on: the firm of a request is known only once its token was looked up.
// All its methods may be called from many goroutines, and on nil.
type About struct {
	mu    sync.Mutex
	attrs []slog.Attr
}

type aboutKey struct{}

// Begin returns a context for a piece of work, and what is known of it so far.
func Begin(ctx context.Context, known ...slog.Attr) (context.Context, *About) {
	a := &About{attrs: known}
	return context.WithValue(ctx, aboutKey{}, a), a
}

// Of returns what the work of a context is about, nil where nobody said.
func Of(ctx context.Context) *About {
	a, _ := ctx.Value(aboutKey{}).(*About)
	return a
}

// Set says one thing more. What was said under that name before is forgotten.
func (a *About) Set(name, value string) {
	if a == nil {
		return
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	for i := range a.attrs {
		if a.attrs[i].Key == name {
			a.attrs[i].Value = slog.StringValue(value)
			return
		}
	}
	a.attrs = append(a.attrs, slog.String(name, value))
}

// Attrs is all that was said, in that order.
func (a *About) Attrs() []slog.Attr {
	if a == nil {
		return nil
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	return append([]slog.Attr(nil), a.attrs...)
}
