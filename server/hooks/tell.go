package hooks

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/tasks"
)

// Kind is the sort of task that tells hooks.
const Kind = "hook"

// The subjects of tasks: one job, all that was kept apart, all jobs that were closed.
const (
	aJob    = "job/"
	apart   = "apart"
	closing = "closed"
)

const (
	pageSize = 100  // events that are read at once
	mostSent = 100  // of one subject before others have a turn
	mostKept = 1000 // things kept apart that are looked at
)

// errGone says that the address answered that nothing is there any more.
var errGone = errors.New("the address says that it is gone for good")

// Teller tells hooks what they were not told yet.
type Teller struct {
	Log    events.Log
	Store  jobs.Store
	Sender *Sender
	Now    func() time.Time
}

// JobTask is the task to tell a hook of a job.
func JobTask(hook, job events.ID, due time.Time) tasks.Task {
	return tasks.Task{Kind: Kind, Ref: hook.String() + " " + aJob + job.String(), Due: due}
}

// Handler is that of the tasks that tell hooks.
func (t *Teller) Handler() tasks.Handler {
	return tasks.Handler{Do: t.do, Backoff: Backoff, Buried: t.buried}
}

// do tells one hook of one subject all that it was not told.
func (t *Teller) do(ctx context.Context, task tasks.Task) error {
	h, subject, err := t.hookOf(ctx, task)
	if errors.Is(err, events.ErrNotFound) {
		return nil // it was deleted meanwhile
	}
	if err != nil || !h.Listens() {
		return err
	}
	switch {
	case strings.HasPrefix(subject, aJob):
		err = t.tellJob(ctx, h, subject)
	case subject == apart:
		err = t.tellApart(ctx, h)
	case subject == closing:
		err = t.tellClosed(ctx, h)
	}
	switch {
	case errors.Is(err, errGone):
		return t.fail(ctx, h, errGone.Error())
	case errors.Is(err, events.ErrNotFound):
		return nil // the hook or the job is gone
	}
	return err
}

func (t *Teller) hookOf(ctx context.Context, task tasks.Task) (h jobs.Hook, subject string, err error) {
	name, subject, _ := strings.Cut(task.Ref, " ")
	id, err := events.ParseID(name)
	if err != nil {
		return h, "", fmt.Errorf("read a task: %w", err)
	}
	h, err = t.Store.FindHook(ctx, task.Firm, id)
	return h, subject, err
}

// buried marks a hook that nothing reached for a day. The office sees it and wakes it.
func (t *Teller) buried(ctx context.Context, task tasks.Task, reason string) error {
	h, _, err := t.hookOf(ctx, task)
	if errors.Is(err, events.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	return t.fail(ctx, h, reason)
}

func (t *Teller) fail(ctx context.Context, h jobs.Hook, reason string) error {
	standing := h.HookStanding
	standing.FailingAt, standing.Failing = t.Now().UTC().Truncate(time.Millisecond), reason
	return t.Store.MarkHook(ctx, h.Firm, h.ID, standing)
}

// tellJob tells the events of a job in their order.
func (t *Teller) tellJob(ctx context.Context, h jobs.Hook, subject string) error {
	id, err := events.ParseID(strings.TrimPrefix(subject, aJob))
	if err != nil {
		return fmt.Errorf("read a task: %w", err)
	}
	job, err := t.Store.FindJob(ctx, h.Firm, id)
	if err != nil {
		return err
	}
	after, err := t.Store.FindTold(ctx, h.Firm, h.ID, subject)
	if errors.Is(err, events.ErrNotFound) {
		after, err = t.before(ctx, h, id)
	}
	for sent := 0; err == nil; {
		page, readErr := t.Log.Read(ctx, h.Firm, id, after, pageSize)
		if readErr != nil {
			return readErr
		}
		for _, e := range page {
			if as := h.Wants(e.Kind); as != "" {
				if err := t.send(ctx, h, eventMessage(h, job, e, as), subject); err != nil {
					return err
				}
				sent++
			}
			// Each is noted by itself where it was sent, so that a crash sends at
			// most one again.
			if h.Wants(e.Kind) != "" || e.Seq == page[len(page)-1].Seq {
				if err := t.tell(ctx, h, subject, e.Seq); err != nil {
					return err
				}
			}
			after = e.Seq
			if sent >= mostSent {
				return tasks.ErrMore
			}
		}
		if len(page) < pageSize {
			return nil
		}
	}
	return err
}

func eventMessage(h jobs.Hook, job jobs.Job, e events.Stored, as jobs.Happening) Message {
	return Message{
		ID: deliveryID(h.ID, aJob+job.ID.String(), e.Seq), Happening: as, Firm: h.Firm,
		Job: &Job{job.ID, job.Name}, Seq: e.Seq, RecordedAt: e.RecordedAt, Event: e.Raw,
	}
}

// before finds the last event of a job that was recorded before the hook was made: what
// is told begins behind it.
func (t *Teller) before(ctx context.Context, h jobs.Hook, job events.ID) (int64, error) {
	head, err := t.Log.Head(ctx, h.Firm, job)
	if err != nil {
		return 0, err
	}
	low, high := int64(0), head.Seq // up to low it was before, from high+1 on after
	for low < high {
		middle := (low + high + 1) / 2
		page, err := t.Log.Read(ctx, h.Firm, job, middle-1, 1)
		if err != nil {
			return 0, err
		}
		if len(page) > 0 && page[0].RecordedAt.Before(h.CreatedAt) {
			low = middle
		} else {
			high = middle - 1
		}
	}
	return low, nil
}

// tellApart tells what was kept apart, the oldest first.
func (t *Teller) tellApart(ctx context.Context, h jobs.Hook) error {
	kept, err := t.Log.Quarantined(ctx, h.Firm, mostKept)
	if err != nil {
		return err
	}
	told, err := t.Store.ListTold(ctx, h.Firm, h.ID)
	if err != nil {
		return err
	}
	for _, q := range slices.Backward(kept) {
		subject := apartSubject(q)
		if told[subject] > 0 || q.At.Before(h.CreatedAt) {
			continue
		}
		if err := t.sendOnce(ctx, h, apartMessage(h, q), subject, 1); err != nil {
			return err
		}
	}
	return nil
}

func apartSubject(q events.Quarantined) string { return apart + "/" + q.Key().String() }

func apartMessage(h jobs.Hook, q events.Quarantined) Message {
	return Message{
		ID: deliveryID(h.ID, apartSubject(q), 0), Happening: jobs.KeptApart, Firm: h.Firm, Job: &Job{ID: q.Job},
		Apart: &Apart{Event: q.EventID, Device: q.Device, At: q.At, Reason: q.Reason},
	}
}

func closedSubject(j jobs.Job) string { return closing + "/" + j.ID.String() }

func closedMessage(h jobs.Hook, j jobs.Job) Message {
	return Message{
		ID: deliveryID(h.ID, closedSubject(j), j.ClosedAt.UnixMilli()), Happening: jobs.JobClosed, Firm: h.Firm,
		Job: &Job{j.ID, j.Name}, ClosedAt: j.ClosedAt,
	}
}

// tellClosed tells of jobs that the office has done with.
func (t *Teller) tellClosed(ctx context.Context, h jobs.Hook) error {
	all, err := t.Store.ListJobs(ctx, h.Firm)
	if err != nil {
		return err
	}
	told, err := t.Store.ListTold(ctx, h.Firm, h.ID)
	if err != nil {
		return err
	}
	for _, j := range slices.Backward(all) {
		subject, at := closedSubject(j), j.ClosedAt.UnixMilli()
		if !j.IsClosed() || j.ClosedAt.Before(h.CreatedAt) || told[subject] >= at {
			continue
		}
		if err := t.sendOnce(ctx, h, closedMessage(h, j), subject, at); err != nil {
			return err
		}
	}
	return nil
}

func (t *Teller) sendOnce(ctx context.Context, h jobs.Hook, m Message, subject string, seq int64) error {
	if err := t.send(ctx, h, m, subject); err != nil {
		return err
	}
	return t.tell(ctx, h, subject, seq)
}

func (t *Teller) tell(ctx context.Context, h jobs.Hook, subject string, seq int64) error {
	return t.Store.Tell(ctx, jobs.Told{Firm: h.Firm, Hook: h.ID, Subject: subject, Seq: seq})
}

// send sends one message and keeps how it went. What did not arrive is an error.
func (t *Teller) send(ctx context.Context, h jobs.Hook, m Message, subject string) error {
	d, err := t.Sender.Send(ctx, h, m, subject)
	if err != nil {
		return err
	}
	if err := t.Store.AddDelivery(context.WithoutCancel(ctx), d); err != nil {
		return err
	}
	switch {
	case d.Status == http.StatusGone:
		return errGone
	case !d.Arrived():
		return errors.New(d.Reason)
	}
	return nil
}
