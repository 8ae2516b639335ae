package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"relevel/jobs"
)

// HooksPage lists the addresses that are told of what happens, and takes another.
type HooksPage struct {
	Frame
	Untold  bool // this server tells nobody
	Hooks   []jobs.Hook
	Offered []jobs.Happening
	Now     time.Time
	ID      string // the id the next one will have
	Name    string
	URL     string
	Chosen  []jobs.Happening
	Wrong   Wrong

	Made           *jobs.Hook // the one that was just made, with its secret
	Secret, Header string
}

func (HooksPage) page() string { return "hooks" }

// IsChosen reports whether a happening is marked in the form.
func (p HooksPage) IsChosen(one jobs.Happening) bool { return slices.Contains(p.Chosen, one) }

// HookPage is one address with its last deliveries.
type HookPage struct {
	Frame
	Hook       jobs.Hook
	Untold     bool
	Deliveries []jobs.Delivery
	Jobs       map[string]string // names, by id
	Now        time.Time
}

func (HookPage) page() string { return "hook" }

// When writes when something was.
func (p HookPage) When(at time.Time) string { return When(at.In(p.Now.Location()), p.Now) }

// When writes when something was.
func (p HooksPage) When(at time.Time) string { return When(at.In(p.Now.Location()), p.Now) }

// About says what a delivery was about.
func (p HookPage) About(d jobs.Delivery) string {
	subject, id, _ := strings.Cut(d.Subject, "/")
	switch name := p.Jobs[id]; {
	case subject == "job" && name != "":
		return fmt.Sprintf("%s, line %d", name, d.Seq)
	case name != "":
		return name
	}
	return ""
}

// Answer says how a delivery went.
func (p HookPage) Answer(d jobs.Delivery) string {
	if d.Status == 0 {
		return d.Reason
	}
	return strings.TrimSpace(fmt.Sprintf("%d %s", d.Status, http.StatusText(d.Status)))
}

var happeningWords = map[jobs.Happening]string{
	jobs.AnyEvent: "everything that is recorded", jobs.OnStop: "a stop", jobs.OnGoAhead: "a go-ahead", jobs.OnIncident: "an incident",
	jobs.OnFinding: "a finding", jobs.OnFindingClosed: "a finding is closed", jobs.OnChange: "an agreed change is asked",
	jobs.OnChangeAnswered: "an agreed change is answered", jobs.OnSigned: "something is signed", jobs.OnDayEnd: "a day ends",
	jobs.OnHandover: "a hand-over", jobs.KeptApart: "something is kept apart", jobs.JobClosed: "a job is closed", jobs.TestMessage: "a test",
}

// Happening writes a happening as people say it.
func (HooksPage) Happening(one jobs.Happening) string { return happeningWords[one] }

// Happening writes a happening as people say it.
func (HookPage) Happening(one jobs.Happening) string { return happeningWords[one] }

// Told lists what a hook is told of.
func (p HooksPage) Told(h jobs.Hook) string { return toldWords(h) }

// Told lists what the hook is told of.
func (p HookPage) Told() string { return toldWords(p.Hook) }

func toldWords(h jobs.Hook) string {
	words := make([]string, len(h.Happenings))
	for i, one := range h.Happenings {
		words[i] = happeningWords[one]
	}
	return strings.Join(words, ", ")
}
