package server

import (
	"context"
	"log/slog"
	"maps"
	"net/http"
	"slices"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"

	"relevel/events"
	"relevel/jobs"
)

// pollEvery is how often the store is asked where that stands which somebody listens to:
// the truth, however little a bell says. Appends of this server are told at once; those of
// others when they ring, or here.
const (
	pollEvery   = 1500 * time.Millisecond
	lookPause   = 50 * time.Millisecond // between two looks at what was rung for
	headTimeout = 5 * time.Second       // of one answer
)

// hub tells listeners that a log has grown.
type hub struct {
	log    events.Log
	store  jobs.Summaries
	logger *slog.Logger
	max    int                // listeners of one firm
	asking singleflight.Group // many pages that come back at once ask one question
	ringer *ringer
	wake   chan struct{} // holds one

	mu    sync.Mutex
	firms map[events.ID]map[*listener]bool
	due   map[events.ID]bool // firms to be looked at now
}

func newHub(c Config) *hub {
	return &hub{
		log: c.Log, store: c.Store, logger: c.Logger, max: c.Limits.Streams, ringer: newRinger(c.Bell, c.Logger),
		wake: make(chan struct{}, 1), firms: map[events.ID]map[*listener]bool{}, due: map[events.ID]bool{},
	}
}

// join adds a listener, which must leave again.
func (h *hub) join(key jobKey) (*listener, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.firms[key.firm]) >= h.max {
		return nil, refuse(http.StatusTooManyRequests, "Too many live streams are open: close some.")
	}
	l := &listener{
		key: key, wake: make(chan struct{}, 1),
		told: map[events.ID]int64{}, waiting: map[events.ID]int64{}, revisions: map[events.ID]int{},
	}
	if h.firms[key.firm] == nil {
		h.firms[key.firm] = map[*listener]bool{}
	}
	h.firms[key.firm][l] = true
	return l, nil
}

func (h *hub) leave(l *listener) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.firms[l.key.firm], l)
	if len(h.firms[l.key.firm]) == 0 {
		delete(h.firms, l.key.firm)
	}
}

// publish tells everybody concerned that a job's log has reached seq.
func (h *hub) publish(key jobKey, seq int64) {
	h.ringer.ring(key.firm)
	for _, l := range h.listeners(key.firm) {
		if l.key.job.IsZero() || l.key.job == key.job {
			l.tell(key.job, seq)
		}
	}
}

// publishChange has those who look on at all jobs of a firm told that something about
// a job changed that is no event.
func (h *hub) publishChange(key jobKey) {
	h.ringer.ring(key.firm)
	h.look(key.firm)
}

// publishRow says that a job's row was written, which is what other servers go by.
func (h *hub) publishRow(key jobKey) { h.ringer.ring(key.firm) }

// look asks for a firm to be looked at, if anybody listens.
func (h *hub) look(firm events.ID) {
	h.mu.Lock()
	listened := len(h.firms[firm]) > 0
	if listened {
		h.due[firm] = true
	}
	h.mu.Unlock()
	if listened {
		wakeUp(h.wake)
	}
}

// lookAtAll asks for all that is listened to to be looked at: rings may have been lost.
func (h *hub) lookAtAll() {
	for _, firm := range h.listened() {
		h.look(firm)
	}
}

// wakeUp has whoever waits for a channel that holds one go on.
func wakeUp(wake chan struct{}) {
	select {
	case wake <- struct{}{}:
	default:
	}
}

// run asks the logs until ctx ends.
func (h *hub) run(ctx context.Context) {
	var both sync.WaitGroup
	both.Go(func() { h.ringer.run(ctx, h.lookAtAll, h.look) })
	both.Go(func() { h.lookOn(ctx) })
	both.Wait()
}

func (h *hub) lookOn(ctx context.Context) {
	tick := time.NewTicker(pollEvery)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			h.poll(ctx, h.listened())
		case <-h.wake:
			h.poll(ctx, h.takeDue())
			select { // what is rung for meanwhile is one look
			case <-time.After(lookPause):
			case <-ctx.Done():
			}
		case <-ctx.Done():
			return
		}
	}
}

func (h *hub) takeDue() []events.ID {
	h.mu.Lock()
	defer h.mu.Unlock()
	firms := slices.Collect(maps.Keys(h.due))
	clear(h.due)
	return firms
}

// listened are the firms of which somebody listens to something.
func (h *hub) listened() []events.ID {
	h.mu.Lock()
	defer h.mu.Unlock()
	return slices.Collect(maps.Keys(h.firms))
}

func (h *hub) listeners(firm events.ID) []*listener {
	h.mu.Lock()
	defer h.mu.Unlock()
	return slices.Collect(maps.Keys(h.firms[firm]))
}

// poll asks about all that is listened to in some firms, with one question or two for
// each. If the store does not answer it is left alone until the next time.
func (h *hub) poll(ctx context.Context, firms []events.ID) {
	for _, firm := range firms {
		if err := h.pollFirm(ctx, firm); err != nil {
			h.logger.DebugContext(ctx, "live streams were not fed", "err", err)
			return
		}
	}
}

func (h *hub) pollFirm(ctx context.Context, firm events.ID) error {
	ctx, cancel := context.WithTimeout(ctx, headTimeout)
	defer cancel()
	var whole []*listener
	byJob := map[events.ID][]*listener{}
	for _, l := range h.listeners(firm) {
		if l.key.job.IsZero() {
			whole = append(whole, l)
		} else {
			byJob[l.key.job] = append(byJob[l.key.job], l)
		}
	}
	if len(byJob) > 0 {
		seqs, err := h.log.Seqs(ctx, firm, slices.Collect(maps.Keys(byJob)))
		if err != nil {
			return err
		}
		for job, seq := range seqs {
			for _, l := range byJob[job] {
				l.tell(job, seq)
			}
		}
	}
	if len(whole) == 0 {
		return nil
	}
	all, err := h.store.ListLatest(ctx, firm)
	for _, l := range whole {
		l.tellAll(all)
	}
	return err
}

// begin tells a listener where that stands which it listens to.
func (h *hub) begin(ctx context.Context, l *listener, seen int64) error {
	ctx, cancel := context.WithTimeout(ctx, headTimeout)
	defer cancel()
	if l.key.job.IsZero() {
		all, err := h.latest(ctx, l.key.firm)
		l.tellAll(all)
		return err
	}
	head, err := h.log.Head(ctx, l.key.firm, l.key.job)
	if err != nil {
		return err
	}
	l.knows(l.key.job, min(seen, head.Seq))
	l.tell(l.key.job, head.Seq)
	return nil
}

// latest says where all jobs of a firm stand. That is what their rows say, in one
// question: every server writes them behind its appends.
func (h *hub) latest(ctx context.Context, firm events.ID) (map[events.ID]jobs.Latest, error) {
	all, err, _ := h.asking.Do(firm.String(), func() (any, error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), headTimeout)
		defer cancel()
		return h.store.ListLatest(ctx, firm)
	})
	known, _ := all.(map[events.ID]jobs.Latest) // nobody writes to it
	return known, err
}
