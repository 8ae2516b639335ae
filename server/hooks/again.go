package hooks

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// Try sends a test message at once, whether the hook listens or not.
func (t *Teller) Try(ctx context.Context, h jobs.Hook, id events.ID) (jobs.Delivery, error) {
	return t.atOnce(ctx, h, Message{ID: id, Happening: jobs.TestMessage, Firm: h.Firm}, "test")
}

// Again sends at once what an earlier delivery was about, under its id.
func (t *Teller) Again(ctx context.Context, h jobs.Hook, was jobs.Delivery) (jobs.Delivery, error) {
	m, err := t.message(ctx, h, was)
	if err != nil {
		return jobs.Delivery{}, err
	}
	return t.atOnce(ctx, h, m, was.Subject)
}

// message makes the message of a delivery once more, from what it was about.
func (t *Teller) message(ctx context.Context, h jobs.Hook, was jobs.Delivery) (Message, error) {
	subject, name, _ := strings.Cut(was.Subject, "/")
	switch subject {
	case apart:
		kept, err := t.Log.Quarantined(ctx, h.Firm, mostKept)
		i := slices.IndexFunc(kept, func(q events.Quarantined) bool { return apartSubject(q) == was.Subject })
		if err != nil || i < 0 {
			return Message{}, orNotFound(err)
		}
		return apartMessage(h, kept[i]), nil
	case "test":
		return Message{ID: was.Delivery, Happening: jobs.TestMessage, Firm: h.Firm}, nil
	}
	id, err := events.ParseID(name)
	if err != nil {
		return Message{}, fmt.Errorf("read a delivery: %w", err)
	}
	job, err := t.Store.FindJob(ctx, h.Firm, id)
	if err != nil || subject == closing {
		return closedMessage(h, job), err
	}
	page, err := t.Log.Read(ctx, h.Firm, id, was.Seq-1, 1)
	if err != nil || len(page) == 0 {
		return Message{}, orNotFound(err)
	}
	return eventMessage(h, job, page[0], was.Happening), nil
}

func orNotFound(err error) error {
	if err == nil {
		err = events.ErrNotFound
	}
	return err
}

func (t *Teller) atOnce(ctx context.Context, h jobs.Hook, m Message, subject string) (jobs.Delivery, error) {
	d, err := t.Sender.Send(ctx, h, m, subject)
	if err != nil {
		return d, err
	}
	return d, t.Store.AddDelivery(context.WithoutCancel(ctx), d)
}
