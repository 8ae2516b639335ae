package watch

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"time"

	"relevel/events"
)

// Objects is a store of photos whose operations are timed and traced. Which object it
// is about is said nowhere: its key holds the digest of a photo.
type Objects struct {
	events.Objects
	Meter  Meter
	Tracer Tracer
}

// begin starts an operation; the function that it returns ends it. That a key holds
// nothing is an answer like others, and a sender that breaks off is no fault of the
// store.
func (o Objects) begin(ctx context.Context, op string, say ...slog.Attr) (context.Context, func(error)) {
	start := time.Now()
	ctx, span := o.Tracer.Start(ctx, "photo store "+op, say...)
	return ctx, func(err error) {
		if errors.Is(err, events.ErrNotFound) || errors.Is(err, context.Canceled) {
			err = nil
		}
		o.Meter.Asked(op, err != nil, time.Since(start))
		span.End(err)
	}
}

// Put implements events.Objects.
func (o Objects) Put(ctx context.Context, of events.Object, body io.ReaderAt) (err error) {
	ctx, end := o.begin(ctx, "put", slog.Int64("bytes", of.Bytes))
	defer func() { end(err) }()
	return o.Objects.Put(ctx, of, body)
}

// Open implements events.Objects. Its time is that until the body can be read.
func (o Objects) Open(ctx context.Context, key events.Key) (body io.ReadCloser, size int64, err error) {
	within, end := o.begin(ctx, "open")
	defer func() { end(err) }()
	return o.Objects.Open(within, key)
}

// Stat implements events.Objects.
func (o Objects) Stat(ctx context.Context, key events.Key) (size int64, err error) {
	ctx, end := o.begin(ctx, "stat")
	defer func() { end(err) }()
	return o.Objects.Stat(ctx, key)
}

// Delete implements events.Objects.
func (o Objects) Delete(ctx context.Context, key events.Key) (err error) {
	ctx, end := o.begin(ctx, "delete")
	defer func() { end(err) }()
	return o.Objects.Delete(ctx, key)
}
