package events

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"sync"
)

// spool holds an upload until it is stored: what was checked is what is sent on.
type spool interface {
	io.Writer
	io.ReaderAt
	io.Closer
}

// How much waits in memory: small files, as long as there is room. A slow phone that
// sends more costs disk instead.
const (
	spoolInMemory = 4 << 20  // of one upload
	spoolRoomSize = 32 << 20 // of all at once
)

// spoolRoom counts what waits in memory. Its zero value is empty.
type spoolRoom struct {
	mu   sync.Mutex
	held int64
}

func (r *spoolRoom) take(n int64) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.held+n > spoolRoomSize {
		return false
	}
	r.held += n
	return true
}

func (r *spoolRoom) giveBack(n int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.held -= n
}

// newSpool makes room for an upload of so many bytes, -1 where nobody knows.
func (p *Photos) newSpool(size int64) (spool, error) {
	if size >= 0 && size <= spoolInMemory && p.room.take(size) {
		return &memorySpool{room: &p.room, took: size, b: make([]byte, 0, size)}, nil
	}
	return newFileSpool(p.Spool)
}

// memorySpool holds an upload in memory.
type memorySpool struct {
	room *spoolRoom
	took int64
	b    []byte
}

// Write leaves off what is beyond the room: an upload that is longer than it was said
// to be is refused.
func (m *memorySpool) Write(p []byte) (int, error) {
	m.b = append(m.b, p[:min(len(p), cap(m.b)-len(m.b))]...)
	return len(p), nil
}

// ReadFrom implements io.ReaderFrom, without a buffer between the two.
func (m *memorySpool) ReadFrom(r io.Reader) (n int64, err error) {
	for len(m.b) < cap(m.b) && err == nil {
		var some int
		some, err = r.Read(m.b[len(m.b):cap(m.b)])
		m.b = m.b[:len(m.b)+some]
		n += int64(some)
	}
	if err == nil {
		more, err := io.Copy(io.Discard, r)
		return n + more, err
	}
	if err == io.EOF {
		err = nil
	}
	return n, err
}

func (m *memorySpool) ReadAt(p []byte, off int64) (int, error) {
	return bytes.NewReader(m.b).ReadAt(p, off)
}

// Close gives the room back. It is called once.
func (m *memorySpool) Close() error {
	m.room.giveBack(m.took)
	return nil
}

// newFileSpool makes a file without a name, so that a crash leaves nothing behind.
func newFileSpool(folder string) (*os.File, error) {
	f, err := os.CreateTemp(folder, "upload-*")
	if err != nil {
		return nil, fmt.Errorf("%w: make room for an upload: %w", ErrUnavailable, err)
	}
	if err := os.Remove(f.Name()); err != nil {
		f.Close()
		return nil, fmt.Errorf("%w: make room for an upload: %w", ErrUnavailable, err)
	}
	return f, nil
}
