package s3photos

import (
	"context"
	"errors"
	"io"
	"sync"
	"time"
)

// sentBody is an upload's body shown as a plain reader. When the server answers
// early the connection goes on reading the body for a while after the call has
// returned; end stops that. An error of the body itself is remembered, to tell
// it from one of the connection.
type sentBody struct {
	mu    sync.Mutex
	r     io.Reader
	left  int64 // bytes the body still owes
	err   error
	ended bool
}

var errEnded = errors.New("upload has ended")

func (b *sentBody) Read(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.ended {
		return 0, errEnded
	}
	n, err := b.r.Read(p)
	b.left -= int64(n)
	if err == io.EOF && b.left > 0 {
		err = io.ErrUnexpectedEOF
	}
	if err != nil && err != io.EOF {
		b.err = err
	}
	return n, err
}

// end makes sure that the body is read no more, and returns the error that
// reading it gave, if any.
func (b *sentBody) end() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.ended = true
	return b.err
}

// download is an object being read. The server has to send something within
// the timeout of each Read; how long the caller takes between reads, perhaps
// because a phone at the other end is slow, does not count.
type download struct {
	body    io.ReadCloser
	ctx     context.Context // the caller's
	cancel  context.CancelFunc
	timer   *time.Timer
	timeout time.Duration
}

func (d *download) Read(p []byte) (int, error) {
	d.timer.Reset(d.timeout)
	n, err := d.body.Read(p)
	d.timer.Stop()
	if err != nil && err != io.EOF {
		err = translate(d.ctx, "read object", err)
	}
	return n, err
}

func (d *download) Close() error {
	d.timer.Stop()
	d.cancel()
	return d.body.Close()
}
