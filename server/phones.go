package server

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// phones notes which counters came from each device. It writes them behind the
// requests, many in one row: what a crash loses of that is heard again when a job
// of the device is next read from the log.
type phones struct {
	store  jobs.Phones
	logger *slog.Logger
	behind *behind

	saving sync.Mutex // held while what was due is written
	mu     sync.Mutex
	due    map[phoneKey]jobs.Heard
}

type phoneKey struct{ firm, device events.ID }

func newPhones(store jobs.Phones, logger *slog.Logger) *phones {
	p := &phones{store: store, logger: logger, due: map[phoneKey]jobs.Heard{}}
	p.behind = newBehind("phones", p.saveDue)
	return p
}

// hear notes what came from a device. An envelope that nobody could read names none.
func (p *phones) hear(h jobs.Heard) {
	if h.Device.IsZero() {
		return
	}
	p.mu.Lock()
	key := phoneKey{h.Firm, h.Device}
	if known, ok := p.due[key]; ok {
		h.Seen = h.Seen.With(known.Seen)
		if known.At.After(h.At) {
			h.At = known.At
		}
	}
	p.due[key] = h
	p.mu.Unlock()
	p.behind.ask()
}

// hearBatch notes the events of an append, which mostly come from one device.
func (p *phones) hearBatch(batch events.Batch) {
	for all := batch.Events; len(all) > 0; {
		device, numbers := all[0].Event.Device, []int64(nil)
		for len(all) > 0 && all[0].Event.Device == device {
			numbers, all = append(numbers, all[0].Event.DeviceSeq), all[1:]
		}
		p.hear(jobs.Heard{Firm: batch.Firm, Device: device, Seen: jobs.NumbersOf(numbers...), At: batch.RecordedAt})
	}
}

// hearAll notes events of a log.
func (p *phones) hearAll(firm events.ID, list []events.Stored) {
	for _, h := range heardIn(firm, list) {
		p.hear(h)
	}
}

// heardIn says what a list of events tells of each device. Events whose bytes were
// erased tell nothing.
func heardIn(firm events.ID, list []events.Stored) []jobs.Heard {
	numbers, at := map[events.ID][]int64{}, map[events.ID]time.Time{}
	for _, e := range list {
		numbers[e.Device] = append(numbers[e.Device], e.DeviceSeq)
		if e.RecordedAt.After(at[e.Device]) {
			at[e.Device] = e.RecordedAt
		}
	}
	var all []jobs.Heard
	for device, list := range numbers {
		if !device.IsZero() {
			all = append(all, jobs.Heard{Firm: firm, Device: device, Seen: jobs.NumbersOf(list...), At: at[device]})
		}
	}
	return all
}

// saveDue reports whether the store took what was due. What it did not take stays
// due. Who calls it may count on all that was heard before.
func (p *phones) saveDue(ctx context.Context) bool {
	p.saving.Lock()
	defer p.saving.Unlock()
	p.mu.Lock()
	due := p.due
	p.due = map[phoneKey]jobs.Heard{}
	p.mu.Unlock()
	for key, h := range due {
		err := p.store.HearPhone(ctx, h)
		if err != nil {
			p.logger.WarnContext(ctx, "what came from a device was not noted", "device", h.Device.String(), "err", err)
		}
		if errors.Is(err, events.ErrUnavailable) {
			for _, h := range due {
				p.hear(h)
			}
			return false
		}
		delete(due, key)
	}
	return true
}
