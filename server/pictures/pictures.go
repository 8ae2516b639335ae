// Package pictures makes the smaller sizes of photos. Everything it reads came
// from outside and may be made to do harm: only JPEG, PNG and WebP are decoded,
// each by its own decoder, after a look at how much memory that takes.
//
// A derived size is upright and holds nothing but pixels. The camera's notes,
// with the place where the photo was taken, stay in the original.
package pictures

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"io"

	"golang.org/x/sync/semaphore"

	"relevel/events"
)

// ErrUnreadable means that the file is not a picture that can be shown. It is
// damaged, of another type, or larger than what is decoded.
var ErrUnreadable = errors.New("picture cannot be shown")

// DefaultMemory is how many bytes of pixels are worked on at a time unless said
// otherwise: three photos of 12 million pixels, or a single larger one.
const DefaultMemory = 160 << 20

// maxReading is how many files are held at a time, decoded or waiting for it.
const maxReading = 4

// quality of the JPEGs that are made: at these sizes a higher one is not seen.
const quality = 82

// Maker makes smaller sizes, several at a time as long as they fit into the
// memory that it was given.
type Maker struct {
	reading *semaphore.Weighted
	memory  *semaphore.Weighted
	budget  int64
}

// NewMaker returns a maker that works on so many bytes of pixels at a time; 0 is
// DefaultMemory.
func NewMaker(memory int64) *Maker {
	if memory == 0 {
		memory = DefaultMemory
	}
	return &Maker{
		reading: semaphore.NewWeighted(maxReading),
		memory:  semaphore.NewWeighted(memory),
		budget:  memory,
	}
}

// Derive reads a photo and returns it as a JPEG whose long edge has size
// pixels, or fewer if the photo is smaller. The error is ErrUnreadable if that
// is because of the photo.
func (m *Maker) Derive(ctx context.Context, r io.Reader, size events.Size) ([]byte, error) {
	if size <= 0 {
		return nil, fmt.Errorf("derive a picture: size %d", size)
	}
	if err := m.reading.Acquire(ctx, 1); err != nil {
		return nil, fmt.Errorf("wait to read photo: %w", err)
	}
	defer m.reading.Release(1)
	data, err := io.ReadAll(io.LimitReader(r, events.MaxPhotoBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read photo: %w", err)
	}
	if len(data) > events.MaxPhotoBytes {
		return nil, fmt.Errorf("%w: more than %d bytes", ErrUnreadable, events.MaxPhotoBytes)
	}
	p, err := inspect(data)
	if err != nil {
		return nil, err
	}
	// A photo that needs more than the whole budget goes alone.
	weight := min(p.memory(), m.budget)
	if err := m.memory.Acquire(ctx, weight); err != nil {
		return nil, fmt.Errorf("wait to decode photo: %w", err)
	}
	defer m.memory.Release(weight)
	return p.derive(int(size))
}

// derive decodes, shrinks, turns and encodes, in that order: turning is cheap
// once the picture is small.
func (p photo) derive(size int) (derived []byte, err error) {
	// The decoders are careful, and an index out of range in one of them must
	// still not take the server down.
	defer func() {
		if r := recover(); r != nil {
			derived, err = nil, fmt.Errorf("%w: decoder failed: %v", ErrUnreadable, r)
		}
	}()
	decoded, err := p.decodeFor(size)
	if err != nil {
		return nil, err
	}
	return encode(upright(shrink(decoded, size), orientation(p.data, p.media)))
}

func (p photo) decode() (image.Image, error) {
	decoded, err := p.format.decode(bytes.NewReader(p.data))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrUnreadable, err)
	}
	if b := decoded.Bounds(); b.Dx() != p.width || b.Dy() != p.height {
		return nil, fmt.Errorf("%w: it says %d × %d and holds %d × %d", ErrUnreadable, p.width, p.height, b.Dx(), b.Dy())
	}
	return decoded, nil
}
