package hooks

import (
	"context"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/tasks"
)

// Missing finds what hooks of a firm were not told yet, from how far its logs go, and
// returns tasks for it. The queue may have been lost, a server may have gone between
// an append and its task: this finds all of it again.
func (t *Teller) Missing(ctx context.Context, firm events.ID, heads []jobs.Reached) ([]tasks.Task, error) {
	all, err := t.Store.ListHooks(ctx, firm)
	if err != nil {
		return nil, err
	}
	var due []tasks.Task
	now := t.Now()
	for _, h := range all {
		if !h.Listens() {
			continue
		}
		told, err := t.Store.ListTold(ctx, firm, h.ID)
		if err != nil {
			return nil, err
		}
		for _, head := range heads {
			if Hears(h) && told[aJob+head.Job.String()] < head.Seq {
				due = append(due, JobTask(h.ID, head.Job, now))
			}
		}
		due = append(due, Beside(h, now)...)
	}
	return due, nil
}

// Beside are the tasks to tell a hook of what is no event of a job.
func Beside(h jobs.Hook, due time.Time) (list []tasks.Task) {
	for _, one := range h.Happenings {
		switch one {
		case jobs.KeptApart:
			list = append(list, tasks.Task{Kind: Kind, Ref: h.ID.String() + " " + apart, Due: due})
		case jobs.JobClosed:
			list = append(list, tasks.Task{Kind: Kind, Ref: h.ID.String() + " " + closing, Due: due})
		}
	}
	return list
}

// Hears reports whether a hook is told of events at all.
func Hears(h jobs.Hook) bool {
	for _, one := range h.Happenings {
		if one != jobs.KeptApart && one != jobs.JobClosed {
			return true
		}
	}
	return false
}
