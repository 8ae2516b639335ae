package pictures

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"golang.org/x/sync/singleflight"

	"relevel/events"
)

// deriveTime bounds one derivation, waiting for memory included.
const deriveTime = time.Minute

// Album gives photos at any of their sizes. A smaller size is made when it is
// first asked for, once however many ask, and kept.
type Album struct {
	photos *events.Photos
	maker  *Maker
	flight singleflight.Group
}

// NewAlbum returns an album over the photos that makes sizes with maker.
func NewAlbum(photos *events.Photos, maker *Maker) *Album {
	return &Album{photos: photos, maker: maker}
}

// Picture is a file to be sent. Its body must be closed.
type Picture struct {
	Media string
	Bytes int64
	Body  io.ReadCloser
}

// Open returns a photo of a firm at a size; the original is exactly what was
// sent, and may also be a sound. What the firm does not have, or has not been
// stored yet, is events.ErrNotFound; a store that is away is
// events.ErrUnavailable; what cannot be made smaller is ErrUnreadable.
func (a *Album) Open(ctx context.Context, firm events.ID, file events.Digest, size events.Size) (Picture, error) {
	if size == events.Original {
		k, body, err := a.photos.Open(ctx, firm, file)
		return Picture{Media: k.Media, Bytes: k.Bytes, Body: body}, err
	}
	key := events.Key{Firm: firm, SHA256: file, Size: size}
	kept, err := a.kept(ctx, key)
	if !errors.Is(err, events.ErrNotFound) {
		return kept, err
	}
	derived, err := a.share(ctx, key)
	if err != nil {
		return Picture{}, err
	}
	return Picture{
		Media: events.MediaJPEG, Bytes: int64(len(derived)),
		Body: io.NopCloser(bytes.NewReader(derived)),
	}, nil
}

// kept opens a size that was made before.
func (a *Album) kept(ctx context.Context, key events.Key) (Picture, error) {
	body, n, err := a.photos.OpenDerived(ctx, key)
	if err != nil {
		return Picture{}, fmt.Errorf("open derived picture: %w", err)
	}
	return Picture{Media: events.MediaJPEG, Bytes: n, Body: body}, nil
}

// share has one caller make a size while the others wait for it. The work does
// not end with the caller that began it, because others may be waiting.
func (a *Album) share(ctx context.Context, key events.Key) ([]byte, error) {
	made := a.flight.DoChan(key.String(), func() (any, error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), deriveTime)
		defer cancel()
		// It may have been made between our look and our turn.
		if kept, err := a.kept(ctx, key); !errors.Is(err, events.ErrNotFound) {
			return readAll(kept, err)
		}
		return a.derive(ctx, key)
	})
	select {
	case <-ctx.Done():
		return nil, ctx.Err()
	case result := <-made:
		if result.Err != nil {
			return nil, result.Err
		}
		return result.Val.([]byte), nil
	}
}

func (a *Album) derive(ctx context.Context, key events.Key) ([]byte, error) {
	derived, err := a.make(ctx, key)
	if err != nil {
		return nil, err
	}
	if err := a.photos.PutDerived(ctx, key, derived); err != nil && !errors.Is(err, events.ErrUnavailable) {
		return nil, fmt.Errorf("keep picture %s: %w", key.Name(), err)
	}
	// A store that cannot keep it now gets it when it is asked for again.
	return derived, nil
}

// make makes a size of the next larger one, where that is kept and whole: to decode a
// photo as it was taken is most of the work.
func (a *Album) make(ctx context.Context, key events.Key) ([]byte, error) {
	if key.Size < events.Large {
		larger := key
		larger.Size = events.Large
		if p, err := a.kept(ctx, larger); err == nil {
			derived, err := a.maker.Derive(ctx, p.Body, key.Size)
			p.Body.Close()
			if err == nil {
				return derived, nil
			}
		}
	}
	_, original, err := a.photos.Open(ctx, key.Firm, key.SHA256)
	if err != nil {
		return nil, err
	}
	defer original.Close()
	derived, err := a.maker.Derive(ctx, original, key.Size)
	if err != nil {
		return nil, fmt.Errorf("make picture %s: %w", key.Name(), err)
	}
	return derived, nil
}

func readAll(p Picture, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	defer p.Body.Close()
	b, err := io.ReadAll(p.Body)
	if err != nil {
		return nil, fmt.Errorf("read derived picture: %w", err)
	}
	return b, nil
}
