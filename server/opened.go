package server

import (
	"context"
	"slices"
	"sync"

	"relevel/events"
	"relevel/jobs"
)

// mostOpened is how many events are kept open, of all jobs: about 60 MB. A job of half
// as many is not kept.
const mostOpened = 100_000

// openedBooks keep the events of jobs that somebody looks through, read and opened:
// most of what a page about all records of a job costs. They are a cache. Like a state
// they hear of an erasure when the job is read anew.
type openedBooks struct {
	log events.Log

	mu    sync.Mutex
	known map[jobKey][]jobs.Opened // nobody changes what is in them
	size  int
}

// upTo returns a job's events up to a number.
func (b *openedBooks) upTo(ctx context.Context, key jobKey, seq int64) ([]jobs.Opened, error) {
	b.mu.Lock()
	list := slices.Clip(b.known[key]) // who adds to it adds to a list of his own
	b.mu.Unlock()
	if int64(len(list)) >= seq {
		return list[:seq], nil
	}
	for int64(len(list)) < seq {
		limit := int(min(readPage, seq-int64(len(list))))
		more, err := b.log.Read(ctx, key.firm, key.job, int64(len(list)), limit)
		if err != nil {
			return nil, err
		}
		for _, e := range more {
			list = append(list, jobs.Open(e))
		}
		if len(more) < limit {
			break
		}
	}
	b.keep(key, list)
	return list, nil
}

func (b *openedBooks) keep(key jobKey, list []jobs.Opened) {
	b.mu.Lock()
	defer b.mu.Unlock()
	more := len(list) - len(b.known[key])
	if more <= 0 || len(list) > mostOpened/2 {
		return
	}
	if b.known == nil || b.size+more > mostOpened {
		b.known, b.size, more = map[jobKey][]jobs.Opened{}, 0, len(list)
	}
	b.known[key], b.size = list, b.size+more
}
