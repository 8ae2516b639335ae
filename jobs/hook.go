package jobs

import (
	"context"
	"net/url"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// Hooks are addresses that a firm wants told of what happens. How far each was told
// is kept here, so that a queue of deliveries may be lost and made again.
type Hooks interface {
	CreateHook(ctx context.Context, h Hook) error
	FindHook(ctx context.Context, firm, id events.ID) (Hook, error)
	// ListHooks returns all of a firm, the newest first.
	ListHooks(ctx context.Context, firm events.ID) ([]Hook, error)
	// MarkHook says how a hook stands: told, paused, or failing.
	MarkHook(ctx context.Context, firm, id events.ID, s HookStanding) error
	// DeleteHook forgets a hook and all that is known of its deliveries.
	DeleteHook(ctx context.Context, firm, id events.ID) error

	// Tell notes that a hook was told of a subject up to a number. It never goes back.
	Tell(ctx context.Context, t Told) error
	// FindTold returns how far a hook was told of a subject, or ErrNotFound.
	FindTold(ctx context.Context, firm, hook events.ID, subject string) (int64, error)
	// ListTold returns how far a hook was told, by subject.
	ListTold(ctx context.Context, firm, hook events.ID) (map[string]int64, error)

	// AddDelivery keeps one attempt, and forgets those of its hook beyond
	// KeptDeliveries.
	AddDelivery(ctx context.Context, d Delivery) error
	// ListDeliveries returns what is kept of a hook, the newest first.
	ListDeliveries(ctx context.Context, firm, hook events.ID) ([]Delivery, error)
}

// KeptDeliveries is how many attempts of one hook are kept to be looked at.
const KeptDeliveries = 50

// Hook is one address, and what it is to be told.
type Hook struct {
	Firm       events.ID   `json:"-"`
	ID         events.ID   `json:"id"`
	Name       string      `json:"name"`
	URL        string      `json:"url"`
	Secret     string      `json:"-"` // signs what is sent; shown when the hook is made
	Happenings []Happening `json:"happenings"`
	CreatedAt  time.Time   `json:"created_at"` // what happened before is not told
	HookStanding
}

// HookStanding says whether a hook is told anything.
type HookStanding struct {
	PausedAt  time.Time `json:"paused_at,omitzero"`  // by the office
	FailingAt time.Time `json:"failing_at,omitzero"` // after a day without an answer
	Failing   string    `json:"failing,omitempty"`   // what went wrong last
}

// Listens reports whether a hook is to be told of anything now.
func (s HookStanding) Listens() bool { return s.PausedAt.IsZero() && s.FailingAt.IsZero() }

// Told is how far a hook was told of one subject.
type Told struct {
	Firm, Hook events.ID
	Subject    string // "job/…" and the like
	Seq        int64
}

// Delivery is one attempt to tell a hook of something.
type Delivery struct {
	Firm      events.ID     `json:"-"`
	ID        events.ID     `json:"id"`
	Hook      events.ID     `json:"hook"`
	Delivery  events.ID     `json:"delivery"` // the same for every attempt at one happening
	Subject   string        `json:"subject"`
	Seq       int64         `json:"seq"`
	Happening Happening     `json:"happening"`
	At        time.Time     `json:"at"`
	Status    int           `json:"status"` // of the answer; 0: there was none
	Took      time.Duration `json:"took_ns"`
	Reason    string        `json:"reason,omitempty"` // why it did not arrive
}

// Arrived reports whether the address took it.
func (d Delivery) Arrived() bool { return d.Status >= 200 && d.Status < 300 }

// Happening is what a hook may be told of: a kind of event by its name, any event at
// all, or what is no event of a job.
type Happening string

// The happenings that are no kind of event.
const (
	AnyEvent    Happening = "event"      // every event that is recorded
	KeptApart   Happening = "quarantine" // what a phone sent that has no place in a log
	JobClosed   Happening = "job-closed" // the office has done with a job
	TestMessage Happening = "test"       // somebody tries the hook
)

// The kinds of event that a hook may be told of by themselves.
const (
	OnStop           Happening = "stop"
	OnGoAhead        Happening = "go-ahead"
	OnIncident       Happening = "incident"
	OnFinding        Happening = "finding"
	OnFindingClosed  Happening = "finding-closed"
	OnChange         Happening = "change"
	OnChangeAnswered Happening = "change-answered"
	OnSigned         Happening = "signed"
	OnDayEnd         Happening = "day-end"
	OnHandover       Happening = "handover"
)

// Happenings lists what a hook may be told of, in the order in which it is offered.
func Happenings() []Happening {
	return []Happening{
		AnyEvent, OnStop, OnGoAhead, OnIncident, OnFinding, OnFindingClosed, OnChange, OnChangeAnswered, OnSigned, OnDayEnd, OnHandover,
		KeptApart, JobClosed,
	}
}

// Wants says as what a hook is told of an event, "" where it is not.
func (h Hook) Wants(kind events.Kind) Happening {
	for _, as := range []Happening{Happening(kind), AnyEvent} {
		if as != KeptApart && as != JobClosed && slices.Contains(h.Happenings, as) {
			return as
		}
	}
	return ""
}

const maxHookURL = 2000

// Check reports, as an InputError, the first field that makes no sense. Whether plain
// http may be used is not its to say.
func (h Hook) Check() error {
	if err := checkName("name", h.Name); err != nil {
		return err
	}
	if err := checkHookURL(h.URL); err != nil {
		return err
	}
	if len(h.Happenings) == 0 {
		return levelling.Bad("happenings", "missing: at least one thing that it is told of")
	}
	for i, one := range h.Happenings {
		if !slices.Contains(Happenings(), one) || slices.Index(h.Happenings, one) < i {
			return levelling.Bad("happenings", "each once, and each one of "+happeningNames())
		}
	}
	return nil
}

func checkHookURL(text string) error {
	u, err := url.Parse(text)
	if err != nil || len(text) > maxHookURL || u.Scheme != "https" && u.Scheme != "http" || u.Hostname() == "" || u.User != nil || u.Fragment != "" {
		return levelling.Bad("url", "an address such as https://office.example/relevel, without a name or password in it")
	}
	return nil
}

func happeningNames() string {
	names := make([]string, len(Happenings()))
	for i, one := range Happenings() {
		names[i] = string(one)
	}
	return strings.Join(names, ", ")
}

// Reached is how far the log of one job goes.
type Reached struct {
	Firm, Job events.ID
	Seq       int64
}
