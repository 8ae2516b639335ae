package watch

import (
	"context"
	"log/slog"
)

// Lines makes a handler that adds to each line what its context is about, so that
// whoever writes one need not think of it. What a line says itself stays as it is.
// Twice is as good as once.
func Lines(h slog.Handler) slog.Handler {
	if l, ok := h.(lines); ok {
		return l
	}
	return lines{h}
}

type lines struct{ slog.Handler }

// Handle implements slog.Handler.
func (l lines) Handle(ctx context.Context, r slog.Record) error {
	attrs := Of(ctx).Attrs()
	if len(attrs) == 0 {
		return l.Handler.Handle(ctx, r)
	}
	said := map[string]bool{}
	r.Attrs(func(a slog.Attr) bool { said[a.Key] = true; return true })
	r = r.Clone()
	for _, a := range attrs {
		if !said[a.Key] {
			r.AddAttrs(a)
		}
	}
	return l.Handler.Handle(ctx, r)
}

// WithAttrs implements slog.Handler.
func (l lines) WithAttrs(attrs []slog.Attr) slog.Handler { return lines{l.Handler.WithAttrs(attrs)} }

// WithGroup implements slog.Handler.
func (l lines) WithGroup(name string) slog.Handler { return lines{l.Handler.WithGroup(name)} }
