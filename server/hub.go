package server

import (
	"context"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"

	"relevel/events"
	"relevel/jobs"
)

// pollEvery is how often the logs that somebody listens to are asked where they
// stand. Appends of this server are told at once; those of others show here.
const (
	pollEvery   = 1500 * time.Millisecond
	headTimeout = 5 * time.Second // of one answer
)

// hub tells listeners that a log has grown.
type hub struct {
	log    events.Log
	store  jobs.Summaries
	logger *slog.Logger
	max    int                // listeners of one firm
	asking singleflight.Group // many pages that come back at once ask one question

	mu    sync.Mutex
	firms map[events.ID]map[*listener]bool
}

// listener is one live stream: of one job, or of all jobs of a firm if the job
// is zero.
type listener struct {
	key  jobKey
	wake chan struct{} // holds one

	mu      sync.Mutex
	told    map[events.ID]int64 // what the listener knows
	waiting map[events.ID]int64 // what it is to be told
	changed []events.ID         // jobs whose particulars changed
}

func newHub(log events.Log, store jobs.Summaries, logger *slog.Logger, max int) *hub {
	return &hub{log: log, store: store, logger: logger, max: max, firms: map[events.ID]map[*listener]bool{}}
}

// join adds a listener, which must leave again.
func (h *hub) join(key jobKey) (*listener, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.firms[key.firm]) >= h.max {
		return nil, refuse(http.StatusTooManyRequests, "Too many live streams are open: close some.")
	}
	l := &listener{key: key, wake: make(chan struct{}, 1), told: map[events.ID]int64{}, waiting: map[events.ID]int64{}}
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
	h.mu.Lock()
	defer h.mu.Unlock()
	for l := range h.firms[key.firm] {
		if l.key.job.IsZero() || l.key.job == key.job {
			l.tell(key.job, seq)
		}
	}
}

// publishChange tells those who look on at all jobs of a firm that something about
// a job changed that is no event.
func (h *hub) publishChange(key jobKey) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for l := range h.firms[key.firm] {
		if l.key.job.IsZero() {
			l.tellAgain(key.job)
		}
	}
}

// run asks the logs until ctx ends.
func (h *hub) run(ctx context.Context) {
	tick := time.NewTicker(pollEvery)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			h.poll(ctx)
		case <-ctx.Done():
			return
		}
	}
}

// watched lists what is listened to, each thing once.
func (h *hub) watched() []jobKey {
	h.mu.Lock()
	defer h.mu.Unlock()
	seen := map[jobKey]bool{}
	var keys []jobKey
	for _, listeners := range h.firms {
		for l := range listeners {
			if !seen[l.key] {
				seen[l.key] = true
				keys = append(keys, l.key)
			}
		}
	}
	return keys
}

// poll asks about everything that is listened to. If the store does not answer
// it is left alone until the next time.
func (h *hub) poll(ctx context.Context) {
	for _, key := range h.watched() {
		heads, err := h.heads(ctx, key)
		if err != nil {
			h.logger.DebugContext(ctx, "live streams were not fed", "err", err)
			return
		}
		for job, seq := range heads {
			h.publish(jobKey{key.firm, job}, seq)
		}
	}
}

// heads says where a job, or all jobs of a firm, stand. For a whole firm that is
// what the summaries say, in one question: every server writes them behind its
// appends.
func (h *hub) heads(ctx context.Context, key jobKey) (map[events.ID]int64, error) {
	ctx, cancel := context.WithTimeout(ctx, headTimeout)
	defer cancel()
	if !key.job.IsZero() {
		head, err := h.log.Head(ctx, key.firm, key.job)
		return map[events.ID]int64{key.job: head.Seq}, err
	}
	seqs, err, _ := h.asking.Do(key.firm.String(), func() (any, error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), headTimeout)
		defer cancel()
		return h.store.ListSeqs(ctx, key.firm)
	})
	heads, _ := seqs.(map[events.ID]int64) // nobody writes to it
	return heads, err
}

// tell notes what a listener is to be told, unless it knows already. It never
// waits: a slow listener is told the latest and not all that was between.
func (l *listener) tell(job events.ID, seq int64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if told, known := l.told[job]; known && seq <= told {
		return
	}
	l.told[job], l.waiting[job] = seq, seq
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

// tellAgain has a listener told once more where a job stands.
func (l *listener) tellAgain(job events.ID) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.changed = append(l.changed, job)
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

// knows notes what a listener has been told before.
func (l *listener) knows(job events.ID, seq int64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.told[job] = seq
}

// take returns what the listener is to be told now.
func (l *listener) take() (news map[events.ID]int64, changed []events.ID) {
	l.mu.Lock()
	defer l.mu.Unlock()
	news, changed = l.waiting, l.changed
	l.waiting, l.changed = map[events.ID]int64{}, nil
	return news, changed
}
