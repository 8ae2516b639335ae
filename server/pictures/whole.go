package pictures

import (
	"errors"
	"fmt"
	"image/jpeg"
	"io"

	"relevel/events"
)

// Whole reads a smaller size that was made here to its end. One that is no JPEG of that
// size any more is events.ErrDamaged; an error of the reader's own is passed on. A bit
// that changed within a picture is not found by this: such a size is made again only
// when it is removed.
func Whole(r io.Reader, size events.Size) error {
	in := &heard{r: r}
	picture, err := jpeg.Decode(in)
	switch {
	case in.err != nil:
		return fmt.Errorf("read a smaller size: %w", in.err)
	case err != nil:
		return fmt.Errorf("%w: %w", events.ErrDamaged, err)
	}
	if b := picture.Bounds(); max(b.Dx(), b.Dy()) > int(size) {
		return fmt.Errorf("%w: it is %d by %d pixels", events.ErrDamaged, b.Dx(), b.Dy())
	}
	return nil
}

// heard remembers the error of the reader below, to tell it from that of the decoder.
type heard struct {
	r   io.Reader
	err error
}

func (h *heard) Read(p []byte) (int, error) {
	n, err := h.r.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		h.err = err
	}
	return n, err
}
