package scrub

import (
	"context"
	"errors"
	"fmt"
	"io"

	"relevel/events"
)

// Strays goes over all that a store holds and tells of each thing that no ledger knows:
// what was left by an erasure that broke off, or put there by hand. Nothing is removed:
// whoever runs the server decides. A file that was made and named by its own digest,
// such as a pack, is read back and told of when it is damaged. It returns how many
// things there are.
func (s *Scrubber) Strays(ctx context.Context, tell func(l events.Listed, why string)) (all int, err error) {
	store, ok := s.Photos.Objects.(events.Lister)
	if !ok {
		return 0, errors.New("this store cannot be looked over")
	}
	waiting := map[events.ID][]events.Listed{}
	for l, err := range store.List(ctx) {
		if err != nil {
			return all, fmt.Errorf("look over the store: %w", err)
		}
		all++
		switch {
		case l.Key.Firm.IsZero():
			tell(l, "it is no file of ours")
		case l.Key.Size == events.Made:
			if err := s.made(ctx, l, tell); err != nil {
				return all, err
			}
		default:
			waiting[l.Key.Firm] = append(waiting[l.Key.Firm], l)
			if len(waiting[l.Key.Firm]) == pageLimit {
				if err := s.known(ctx, l.Key.Firm, waiting[l.Key.Firm], tell); err != nil {
					return all, err
				}
				delete(waiting, l.Key.Firm)
			}
		}
	}
	for firm, list := range waiting {
		if err := s.known(ctx, firm, list, tell); err != nil {
			return all, err
		}
	}
	return all, nil
}

// known asks the ledger of a firm for some of what is in its name.
func (s *Scrubber) known(ctx context.Context, firm events.ID, list []events.Listed, tell func(events.Listed, string)) error {
	files := make([]events.Digest, len(list))
	for i, l := range list {
		files[i] = l.Key.SHA256
	}
	kept, err := s.Photos.Ledger.FindAll(ctx, firm, files)
	if err != nil {
		return fmt.Errorf("ask what is known of: %w", err)
	}
	known := map[events.Digest]bool{}
	for _, k := range kept {
		known[k.SHA256] = true
	}
	for _, l := range list {
		if !known[l.Key.SHA256] {
			tell(l, "no record of it is in the ledger")
		}
	}
	return nil
}

// made reads back what is named by its own digest.
func (s *Scrubber) made(ctx context.Context, l events.Listed, tell func(events.Listed, string)) error {
	if s.Pace != nil {
		if err := s.Pace(ctx, l.Bytes); err != nil {
			return err
		}
	}
	body, _, err := s.Photos.OpenMade(ctx, l.Key.Firm, l.Key.SHA256)
	if errors.Is(err, events.ErrNotFound) {
		return nil // it went meanwhile
	}
	if err == nil {
		_, err = io.Copy(io.Discard, body)
		body.Close()
	}
	if errors.Is(err, events.ErrDamaged) {
		tell(l, "it is not what was made: have it made again")
		return nil
	}
	return err
}
