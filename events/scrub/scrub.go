// Package scrub reads stored photos and sounds back, some at a time and round and
// round, so that decay is found while a phone or a backup may still have the bytes.
//
// The ledger says when each file was last verified; those that have waited longest
// come first, so that what one turn does not get to is first at the next, and a store
// of any size is gone round as fast as the pace allows. What is damaged or gone falls
// back to received, with the reason, and is put back from a backup where there is one;
// otherwise the phone that took it sends it again when it asks and still has it.
// Smaller sizes that cannot be read any more are removed, and made again when somebody
// looks.
package scrub

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"relevel/events"
)

// pageLimit is how many entries of the ledger are asked for at a time.
const pageLimit = 200

// Scrubber reads back what one store holds.
type Scrubber struct {
	Photos *events.Photos

	// Pace is called before so many bytes are read, and returns when it is time for
	// them; nil waits for nothing.
	Pace func(ctx context.Context, bytes int64) error
	// Whole tells by an error that a smaller size cannot be read as what it is; nil
	// leaves them alone.
	Whole func(r io.Reader, size events.Size) error
	// Mend returns the bytes of a damaged file from elsewhere, or events.ErrNotFound;
	// nil has none.
	Mend func(ctx context.Context, k events.Kept) (io.ReadCloser, error)
	// Tell hears how it goes, after each file; nil hears nothing.
	Tell func(Found)
}

// Found says what was found so far.
type Found struct {
	Read    int   // files that were read back
	Bytes   int64 // of those
	Damaged []events.Kept
	Mended  []events.Kept // of what was damaged; no longer among it
	Sizes   int           // smaller sizes that were looked at
	Unmade  int           // of those the ones that were removed, to be made again
}

// Add counts what was found elsewhere, too.
func (f *Found) Add(more Found) {
	f.Read, f.Bytes, f.Sizes, f.Unmade = f.Read+more.Read, f.Bytes+more.Bytes, f.Sizes+more.Sizes, f.Unmade+more.Unmade
	f.Damaged, f.Mended = append(f.Damaged, more.Damaged...), append(f.Mended, more.Mended...)
}

// Firm reads back the files of a firm that have been in a state since before a time,
// the one that has waited longest first, up to a limit; 0 is all. With the state
// received it looks again at what fell back, and at what a crash kept from being called
// stored. Of all that is found
// the state in the ledger is changed at once, so it may end at any time. A store that
// is away ends it with an error and changes nothing.
func (s *Scrubber) Firm(ctx context.Context, q events.KeptQuery, now time.Time) (Found, error) {
	var found Found
	left := q.Limit
	for {
		page := q
		page.Limit = pageLimit
		if q.Limit > 0 {
			page.Limit = min(left, page.Limit)
		}
		due, err := s.Photos.Ledger.Oldest(ctx, page)
		if err != nil {
			return found, fmt.Errorf("list what is to be read back: %w", err)
		}
		moved := 0
		for _, k := range due {
			is, err := s.file(ctx, k, now, &found)
			if err != nil {
				return found, err
			}
			if is.State != k.State || !is.At.Equal(k.At) {
				moved++
			}
			if s.Tell != nil {
				s.Tell(found)
			}
		}
		left -= len(due)
		// What nobody can move on ends it: it would come again.
		if len(due) < page.Limit || moved < len(due) || q.Limit > 0 && left <= 0 {
			return found, nil
		}
	}
}

// file reads one file back, with its smaller sizes.
func (s *Scrubber) file(ctx context.Context, k events.Kept, now time.Time, found *Found) (events.Kept, error) {
	if s.Pace != nil {
		if err := s.Pace(ctx, k.Bytes); err != nil {
			return k, err
		}
	}
	is, err := s.Photos.Verify(ctx, k.Firm, k.SHA256, now)
	switch {
	case errors.Is(err, events.ErrNotFound):
		return is, nil // erased meanwhile
	case errors.Is(err, events.ErrDamaged):
		found.Read++
		return is, s.mend(ctx, is, now, found)
	case err != nil:
		return k, err
	case !is.State.Safe() && is.Reason == "":
		return is, nil // nothing was promised of it
	case !is.State.Safe(): // it fell back before, and is still gone
		return is, s.mend(ctx, is, now, found)
	}
	found.Read, found.Bytes = found.Read+1, found.Bytes+is.Bytes
	return is, s.sizes(ctx, is, found)
}

// mend puts a damaged file back from elsewhere, by the way that every file comes in.
func (s *Scrubber) mend(ctx context.Context, k events.Kept, now time.Time, found *Found) error {
	err := fmt.Errorf("there is no other copy: %w", events.ErrNotFound)
	if s.Mend != nil {
		err = s.putBack(ctx, k, now)
	}
	switch {
	case err == nil:
		found.Mended = append(found.Mended, k)
		return nil
	case ctx.Err() != nil, errors.Is(err, events.ErrUnavailable):
		return err
	}
	found.Damaged = append(found.Damaged, k)
	return nil
}

func (s *Scrubber) putBack(ctx context.Context, k events.Kept, now time.Time) error {
	body, err := s.Mend(ctx, k)
	if err != nil {
		return err
	}
	defer body.Close()
	_, err = s.Photos.Put(ctx, events.Upload{Firm: k.Firm, SHA256: k.SHA256, Bytes: k.Bytes, Media: k.Media, At: now, Body: body})
	return err
}

// sizes looks at the smaller sizes of a photo.
func (s *Scrubber) sizes(ctx context.Context, k events.Kept, found *Found) error {
	if s.Whole == nil || k.Type != events.Photo {
		return nil
	}
	for _, size := range []events.Size{events.Small, events.Large} {
		key := events.Key{Firm: k.Firm, SHA256: k.SHA256, Size: size}
		body, n, err := s.Photos.OpenDerived(ctx, key)
		if errors.Is(err, events.ErrNotFound) {
			continue // nobody has asked for it yet
		}
		if err != nil {
			return err
		}
		if s.Pace != nil {
			err = s.Pace(ctx, n)
		}
		if err == nil {
			found.Sizes++
			err = s.Whole(body, size)
		}
		body.Close()
		if errors.Is(err, events.ErrDamaged) {
			found.Unmade++
			err = s.Photos.Objects.Delete(ctx, key)
		}
		if err != nil {
			return fmt.Errorf("look at the size %d of %s: %w", size, k.SHA256, err)
		}
	}
	return nil
}
