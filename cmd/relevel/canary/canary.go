// Package canary does what a phone and the office do, through the public API, and says
// whether it works and how long it takes: record something, read it back, hear of it
// live, see it signed, check the proof, and send a photo there and back.
//
// It sings in a firm of its own, so that nobody meets it. It leaves one small record a
// run, a photo of some hundred bytes a day, and a job a month that is closed when the
// month is over.
package canary

import (
	"context"
	"fmt"
	"strings"
	"time"

	"relevel/cmd/relevel/client"
	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// The steps, in the order in which they are done.
const (
	Append     = "append"     // a record is stored
	Read       = "read"       // it comes back, byte by byte
	Live       = "live"       // whoever listens hears of it
	Checkpoint = "checkpoint" // it is signed
	Proof      = "proof"      // and proved to be in what was signed
	Photo      = "photo"      // a photo goes there and comes back
)

// Steps lists them.
func Steps() []string { return []string{Append, Read, Live, Checkpoint, Proof, Photo} }

// Step is how one of them went.
type Step struct {
	Name string
	Took time.Duration
	Err  error // nil where it went well
}

// Patience of one step. Signing comes some seconds after a record.
const Patience = 30 * time.Second

const jobName = "Canary "

// Canary sings through a client that speaks for a firm of its own.
type Canary struct {
	client *client.Client
	firm   events.ID
	now    time.Time
	job    events.ID

	sent events.Incoming
	seq  int64 // of what was sent, 0 while it is not
	live *client.Live
	kept client.Written
	note []byte
}

// New prepares a run at some time. It refuses a token of a firm that works: the error
// is a levelling.InputError then.
func New(ctx context.Context, c *client.Client, now time.Time) (*Canary, error) {
	firm, _, err := jobs.ParseToken(c.Token)
	if err != nil {
		return nil, levelling.Bad("token", "the token of a firm that is the canary's alone")
	}
	k := &Canary{client: c, firm: firm, now: now.UTC().Truncate(time.Millisecond)}
	list, err := c.Jobs(ctx)
	if err != nil {
		return nil, err
	}
	for _, j := range list {
		if !strings.HasPrefix(j.Name, jobName) {
			return nil, levelling.Bad("token", "that of a firm of the canary's own: this one has jobs; make another with relevel firm add Canary")
		}
	}
	month := time.Date(k.now.Year(), k.now.Month(), 1, 0, 0, 0, 0, time.UTC)
	if k.job, err = k.idOf("job", month); err != nil {
		return nil, err
	}
	k.closeOld(ctx, list)
	err = c.CreateJob(ctx, jobs.Job{ID: k.job, Name: jobName + month.Format("2006-01"), Zone: "UTC"})
	return k, err
}

// closeOld closes the jobs of past months. What does not work now works next time.
func (k *Canary) closeOld(ctx context.Context, list []jobs.Job) {
	for _, j := range list {
		if j.ID == k.job || !j.ClosedAt.IsZero() {
			continue
		}
		if _, seq, err := k.client.Book(ctx, j.ID, 0, 1); err == nil {
			_ = k.client.CloseJob(ctx, jobs.Closing{Job: j.ID, Closed: true, Why: "The month is over.", Seq: seq})
		}
	}
}

// Sing does all steps, and those that can be done also when others went wrong.
func (k *Canary) Sing(ctx context.Context) []Step {
	ctx, cancel := context.WithTimeout(ctx, time.Duration(len(Steps()))*Patience)
	defer cancel()
	all := []Step{
		k.step(ctx, Append, k.append),
		k.step(ctx, Read, k.read),
		k.step(ctx, Live, k.hear),
		k.step(ctx, Checkpoint, k.checkpoint),
		k.step(ctx, Proof, k.prove),
		k.step(ctx, Photo, k.photo),
	}
	if k.live != nil {
		k.live.Close()
	}
	return all
}

func (k *Canary) step(ctx context.Context, name string, do func(context.Context) error) Step {
	within, cancel := ctx, func() {}
	if name != Append { // the stream that it opens is read later
		within, cancel = context.WithTimeout(ctx, Patience)
	}
	defer cancel()
	start := time.Now()
	err := do(within)
	if err != nil {
		err = fmt.Errorf("%s: %w", name, err)
	}
	return Step{name, time.Since(start), err}
}
