package backups

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/sync/errgroup"

	"relevel/events"
)

// copiersAtOnce is how many photos are copied at a time, each in memory whole.
const copiersAtOnce = 4

// copied says what became of a copy of photos.
type copied struct {
	Photos, Bytes int64    // that are there now, also those that were there before
	Fresh         int64    // of those the ones that were copied now
	Faults        []string // one for each that is not there as it should be, sorted
	Lost          []events.Kept
}

// copyPhotos copies those of a list that the other store does not hold. What is missing
// or is not what its digest says is a fault; a store that is away is an error.
func copyPhotos(ctx context.Context, from, to events.Objects, photos []events.Kept, tell func(string, ...any)) (copied, error) {
	var c copied
	var mu sync.Mutex
	var done atomic.Int64
	told := time.Now()
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(copiersAtOnce)
	for _, k := range photos {
		group.Go(func() error {
			fresh, err := copyPhoto(ctx, from, to, k)
			mu.Lock()
			defer mu.Unlock()
			done.Add(1)
			switch {
			case errors.Is(err, events.ErrDamaged):
				c.Faults, c.Lost = append(c.Faults, err.Error()), append(c.Lost, k)
			case err != nil:
				return err
			default:
				c.Photos, c.Bytes = c.Photos+1, c.Bytes+k.Bytes
			}
			if fresh {
				c.Fresh++
			}
			if time.Since(told) > tellEvery {
				told = time.Now()
				tell("photos: %d of %d", done.Load(), len(photos))
			}
			return nil
		})
	}
	err := group.Wait()
	slices.Sort(c.Faults)
	return c, err
}

// tellEvery is how often long work says how far it is.
const tellEvery = 5 * time.Second

func copyPhoto(ctx context.Context, from, to events.Objects, k events.Kept) (fresh bool, err error) {
	key := events.Key{Firm: k.Firm, SHA256: k.SHA256}
	if n, err := to.Stat(ctx, key); err == nil && n == k.Bytes {
		return false, nil
	}
	body, err := readPhoto(ctx, from, k)
	if err != nil {
		return false, err
	}
	o := events.Object{Key: key, Bytes: int64(len(body)), SHA256: k.SHA256, Media: k.Media}
	if _, err := to.Put(ctx, o, bytes.NewReader(body)); err != nil {
		return false, fmt.Errorf("copy the photo %s: %w", key, err)
	}
	return true, nil
}

// readPhoto reads a photo whole and checks that it is the one. What it is not or is
// missing is events.ErrDamaged.
func readPhoto(ctx context.Context, from events.Objects, k events.Kept) ([]byte, error) {
	key := events.Key{Firm: k.Firm, SHA256: k.SHA256}
	r, _, err := from.Open(ctx, key)
	if errors.Is(err, events.ErrNotFound) {
		return nil, fmt.Errorf("%w: %s is missing", events.ErrDamaged, key)
	}
	if err != nil {
		return nil, fmt.Errorf("read the photo %s: %w", key, err)
	}
	defer r.Close()
	body, err := io.ReadAll(io.LimitReader(r, events.MaxPhotoBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read the photo %s: %w", key, err)
	}
	if sha256.Sum256(body) != k.SHA256 {
		return nil, fmt.Errorf("%w: %s is not what was stored", events.ErrDamaged, key)
	}
	return body, nil
}

// checkPhotos reads those of a list in a store and changes nothing.
func checkPhotos(ctx context.Context, from events.Objects, photos []events.Kept, tell func(string, ...any)) (copied, error) {
	return copyPhotos(ctx, from, nowhere{}, photos, tell)
}

// nowhere takes everything and keeps nothing.
type nowhere struct{ events.Objects }

func (nowhere) Stat(context.Context, events.Key) (int64, error) { return 0, events.ErrNotFound }

func (nowhere) Put(context.Context, events.Object, io.ReaderAt) (told bool, err error) {
	return false, nil
}
