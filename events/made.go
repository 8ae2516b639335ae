package events

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io"
)

// Made marks, in the place of a size, what is no photo: a file that was made from the
// record, such as a pack. It can be made again, so the ledger does not know it.
const Made Size = -1

// PutMade keeps a file that write writes, under the digest of its bytes. They go
// through the spool on disk, however many they are, and never all through memory.
func (p *Photos) PutMade(ctx context.Context, firm ID, media string, write func(io.Writer) error) (Digest, int64, error) {
	spool, err := newFileSpool(p.Spool)
	if err != nil {
		return Digest{}, 0, err
	}
	defer spool.Close()
	sum, size := sha256.New(), &counted{w: spool}
	if err := write(io.MultiWriter(size, sum)); err != nil {
		return Digest{}, 0, err
	}
	o := Object{Key: Key{Firm: firm, SHA256: Digest(sum.Sum(nil)), Size: Made}, Bytes: size.n, Media: media}
	o.SHA256 = o.Key.SHA256
	if err := p.store(ctx, o, spool); err != nil {
		return Digest{}, 0, fmt.Errorf("keep what was made: %w", err)
	}
	return o.SHA256, o.Bytes, nil
}

// counted counts what is written.
type counted struct {
	w io.Writer
	n int64
}

func (c *counted) Write(b []byte) (int, error) {
	n, err := c.w.Write(b)
	c.n += int64(n)
	return n, err
}

// OpenMade returns such a file and its size. Reading it to the end verifies it, as
// with Open. The caller closes it.
func (p *Photos) OpenMade(ctx context.Context, firm ID, file Digest) (io.ReadCloser, int64, error) {
	body, size, err := p.Objects.Open(ctx, Key{Firm: firm, SHA256: file, Size: Made})
	if err != nil {
		return nil, 0, fmt.Errorf("open what was made: %w", err)
	}
	return &verifier{body: body, hash: sha256.New(), want: file}, size, nil
}
