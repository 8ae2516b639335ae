package server

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
)

// maxNoted bounds what waits to be written, and what is known to be noted today.
const maxNoted = 10000

// trail notes who came and who saw what, behind the answers, so that none waits for it
// and none tells by its time what was noted. A server that is killed loses what it
// noted in the last quarter of a second.
type trail struct {
	store  jobs.Trails
	log    *slog.Logger
	now    func() time.Time
	random io.Reader
	behind *behind
	// address is where a request comes from.
	address func(*http.Request) string

	noted atomic.Uint32

	mu   sync.Mutex
	due  map[events.ID][]jobs.Trace
	many int
	seen map[events.ID]bool // by jobs.SeenOnce: a server need not ask for what it wrote
}

func newTrail(c Config) *trail {
	t := &trail{store: c.Store, log: c.Logger, now: c.Now, random: c.Random, due: map[events.ID][]jobs.Trace{}, seen: map[events.ID]bool{}}
	t.behind = newBehind("trail", t.write)
	return t
}

// note writes down what happened in a firm, and from where. Who did it is whoever the
// request speaks for, unless the trace says so itself.
func (t *trail) note(firm events.ID, r *http.Request, one jobs.Trace) {
	a := who(r)
	one.At = t.now().UTC().Truncate(time.Millisecond)
	if one.By.IsZero() && one.Token.IsZero() && a.firm == firm {
		one.By, one.Token = a.person.ID, a.token.ID
	}
	if one.ID.IsZero() {
		id, err := events.NewID(one.At, t.random)
		if err != nil {
			t.log.ErrorContext(r.Context(), "the trail", "err", err)
			return
		}
		one.ID = t.inOrder(id)
	}
	one.Address = t.address(r)
	t.keep(firm, one)
}

// inOrder counts in the twelve random bits beside the time of an id (RFC 9562, 6.2,
// method 1), so that what is noted in one millisecond is told as it happened.
func (t *trail) inOrder(id events.ID) events.ID {
	n := t.noted.Add(1)
	id[6], id[7] = 0x70|byte(n>>8)&0x0f, byte(n)
	return id
}

// saw notes that somebody was shown a job, once a day.
func (t *trail) saw(r *http.Request, u use) {
	job, err := events.ParseID(mux.Vars(r)["job"])
	if err != nil || (r.Method != http.MethodGet && r.Method != http.MethodHead) {
		return
	}
	a := who(r)
	one := jobs.Trace{At: t.now().UTC(), What: jobs.JobSeen, By: a.person.ID, Token: a.token.ID, Job: job}
	if u&taken != 0 {
		one.What = jobs.JobTaken
	}
	one.ID = jobs.SeenOnce(one)
	if !t.isNew(one.ID) {
		return
	}
	t.note(a.firm, r, one)
}

func (t *trail) isNew(id events.ID) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.seen[id] {
		return false
	}
	if len(t.seen) >= maxNoted {
		clear(t.seen)
	}
	t.seen[id] = true
	return true
}

// keep puts a trace with what is to be written. When the store has been away for so
// long that too much waits, what comes now goes to the log instead.
func (t *trail) keep(firm events.ID, one jobs.Trace) {
	t.mu.Lock()
	full := t.many >= maxNoted
	if !full {
		t.due[firm] = append(t.due[firm], one)
		t.many++
	}
	t.mu.Unlock()
	if full {
		t.log.Warn("the trail is full", "firm", firm, "what", one.What, "by", one.By, "about", one.About)
		return
	}
	t.behind.ask()
}

// write writes all that is due. What cannot be written now waits.
func (t *trail) write(ctx context.Context) bool {
	t.mu.Lock()
	due := t.due
	t.due, t.many = map[events.ID][]jobs.Trace{}, 0
	t.mu.Unlock()
	done := true
	for firm, all := range due {
		if err := t.store.AppendTraces(ctx, firm, all); err != nil {
			t.log.WarnContext(ctx, "write the trail", "err", err)
			done = false
			t.mu.Lock()
			t.due[firm] = append(all, t.due[firm]...)
			t.many += len(all)
			t.mu.Unlock()
			t.behind.ask()
		}
	}
	return done
}
