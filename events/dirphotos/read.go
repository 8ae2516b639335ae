package dirphotos

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"

	"relevel/events"
)

// Open implements events.Objects.
func (s *Store) Open(ctx context.Context, k events.Key) (io.ReadCloser, int64, error) {
	if err := ctx.Err(); err != nil {
		return nil, 0, err
	}
	f, err := s.root.Open(nameOf(k))
	if err != nil {
		return nil, 0, missing(k, err)
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, 0, missing(k, err)
	}
	return file{f, &bodyReader{ctx: ctx, r: f}}, info.Size(), nil
}

// Stat implements events.Objects.
func (s *Store) Stat(ctx context.Context, k events.Key) (int64, error) {
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	info, err := s.root.Stat(nameOf(k))
	if err != nil {
		return 0, missing(k, err)
	}
	return info.Size(), nil
}

// Delete implements events.Objects.
func (s *Store) Delete(ctx context.Context, k events.Key) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	err := s.root.Remove(nameOf(k))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil {
		err = s.syncDir(folderOf(k))
	}
	if err != nil {
		return unavailable("delete", err)
	}
	return nil
}

func folderOf(k events.Key) string {
	return path.Join(k.Firm.String(), k.SHA256.String()[:2])
}

func nameOf(k events.Key) string { return path.Join(folderOf(k), k.Name()) }

// missing tells a file that is not there from a disk that does not answer.
func missing(k events.Key, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: %w", k, events.ErrNotFound)
	}
	return unavailable("look up", err)
}

func unavailable(what string, err error) error {
	return fmt.Errorf("%w: %s file: %w", events.ErrUnavailable, what, err)
}

// bodyReader stops when its context ends, and remembers the error of the reader
// below so that it can be told from that of the writer.
type bodyReader struct {
	ctx context.Context
	r   io.Reader
	err error
}

func (b *bodyReader) Read(p []byte) (int, error) {
	if b.err = b.ctx.Err(); b.err != nil {
		return 0, b.err
	}
	n, err := b.r.Read(p)
	if err != io.EOF {
		b.err = err
	}
	return n, err
}

// file is an open file that is read under a context.
type file struct {
	*os.File
	body *bodyReader
}

func (f file) Read(p []byte) (int, error) { return f.body.Read(p) }
