package watch

import (
	"context"
	"errors"
	"io"
	"iter"
	"log/slog"
	"time"

	"relevel/events"
)

// Objects is a store of photos whose operations are timed and traced. Which object it
// is about is said nowhere: its key holds the digest of a photo. It can be looked over
// where the store can.
func Objects(store events.Objects, m Meter, t Tracer) events.Objects {
	seen := objects{store, m, t}
	if whole, ok := store.(events.Lister); ok {
		return lister{seen, whole}
	}
	return seen
}

type objects struct {
	events.Objects
	meter  Meter
	tracer Tracer
}

// lister is of a store that can be looked over. How long that takes is up to whoever
// looks.
type lister struct {
	objects
	whole events.Lister
}

// List implements events.Lister.
func (l lister) List(ctx context.Context) iter.Seq2[events.Listed, error] { return l.whole.List(ctx) }

// begin starts an operation; the function that it returns ends it. That a key holds
// nothing is an answer like others, and a sender that breaks off is no fault of the
// store.
func (o objects) begin(ctx context.Context, op string, say ...slog.Attr) (context.Context, func(error)) {
	start := time.Now()
	ctx, span := o.tracer.Start(ctx, "photo store "+op, say...)
	return ctx, func(err error) {
		if errors.Is(err, events.ErrNotFound) || errors.Is(err, context.Canceled) {
			err = nil
		}
		o.meter.Asked(op, err != nil, time.Since(start))
		span.End(err)
	}
}

// Put implements events.Objects.
func (o objects) Put(ctx context.Context, of events.Object, body io.ReaderAt) (told bool, err error) {
	ctx, end := o.begin(ctx, "put", slog.Int64("bytes", of.Bytes))
	defer func() { end(err) }()
	return o.Objects.Put(ctx, of, body)
}

// Open implements events.Objects. Its time is that until the body can be read.
func (o objects) Open(ctx context.Context, key events.Key) (body io.ReadCloser, size int64, err error) {
	within, end := o.begin(ctx, "open")
	defer func() { end(err) }()
	return o.Objects.Open(within, key)
}

// Stat implements events.Objects.
func (o objects) Stat(ctx context.Context, key events.Key) (size int64, err error) {
	ctx, end := o.begin(ctx, "stat")
	defer func() { end(err) }()
	return o.Objects.Stat(ctx, key)
}

// Delete implements events.Objects.
func (o objects) Delete(ctx context.Context, key events.Key) (err error) {
	ctx, end := o.begin(ctx, "delete")
	defer func() { end(err) }()
	return o.Objects.Delete(ctx, key)
}
