package server

import (
	"context"
	"errors"
	"log/slog"
	"slices"

	"relevel/events"
	"relevel/jobs"
)

// mostInStretch is how many events of a book are read and written at once.
const mostInStretch = 500

// books reads what was appended into the words that are searched, behind the
// requests as summaries are written.
type books struct {
	log    events.Log
	states *states
	store  jobs.Books
	logger *slog.Logger
	behind *behind

	due   dueJobs
	marks map[events.ID]map[events.ID]jobs.BookMark // by firm and job, as far as this server knows
}

func newBooks(log events.Log, s *states, store jobs.Books, logger *slog.Logger) *books {
	b := &books{log: log, states: s, store: store, logger: logger, marks: map[events.ID]map[events.ID]jobs.BookMark{}}
	b.behind = newBehind("search", b.readDue)
	return b
}

// mark asks for what is new in a job's book to be read.
func (b *books) mark(key jobKey) {
	b.due.add(key)
	b.behind.ask()
}

// readDue reports whether the store took what was due. What it did not take stays
// due; what cannot be folded waits for the job's next event.
func (b *books) readDue(ctx context.Context) bool {
	return b.due.each(func(key jobKey) error {
		err := b.read(ctx, key)
		if err != nil {
			b.logger.WarnContext(ctx, "a book was not read for searching", "job", key.job.String(), "err", err)
			delete(b.marks, key.firm) // another server may have been faster: look again
		}
		if errors.Is(err, events.ErrConflict) {
			b.mark(key)
		}
		return err
	})
}

// read goes on where a book was left. What is voided changes a line that was read before,
// so a void has the book read from its beginning; so has what says that lines were erased,
// which takes away words that were read before that and written after it.
func (b *books) read(ctx context.Context, key jobKey) error {
	after, err := b.markOf(ctx, key)
	if err != nil {
		return err
	}
	for {
		stored, err := b.log.Read(ctx, key.firm, key.job, after, mostInStretch)
		if err != nil || len(stored) == 0 {
			return err
		}
		if after > 0 && slices.ContainsFunc(stored, changesEarlier) {
			after = 0
			continue
		}
		s, err := b.stretch(ctx, key, after, stored)
		if err != nil {
			return err
		}
		if err := b.store.SaveBook(ctx, s); err != nil {
			return err
		}
		after = s.Upto
		b.marks[key.firm][key.job] = jobs.BookMark{Seq: after, Version: jobs.BookVersion}
		if len(stored) < mostInStretch {
			return nil
		}
	}
}

func changesEarlier(e events.Stored) bool {
	return e.Kind == events.KindVoid || e.Kind == events.KindErased
}

func (b *books) markOf(ctx context.Context, key jobKey) (int64, error) {
	if b.marks[key.firm] == nil {
		marks, err := b.store.BookMarks(ctx, key.firm)
		if err != nil {
			return 0, err
		}
		b.marks[key.firm] = marks
	}
	if m := b.marks[key.firm][key.job]; m.Version == jobs.BookVersion {
		return m.Seq, nil
	}
	return 0, nil
}

func (b *books) stretch(ctx context.Context, key jobKey, after int64, stored []events.Stored) (s jobs.BookStretch, err error) {
	err = b.states.use(ctx, key, func(state *jobs.State) { s = stretchOf(key, state, after, stored) })
	return s, err
}

// stretchOf reads events that follow a number of the book.
func stretchOf(key jobKey, state *jobs.State, after int64, stored []events.Stored) jobs.BookStretch {
	s := jobs.BookStretch{Firm: key.firm, Job: key.job, After: after, Upto: stored[len(stored)-1].Seq, Version: jobs.BookVersion}
	for _, e := range stored {
		if p, says := state.Passage(e); says {
			s.Passages = append(s.Passages, p)
		}
	}
	return s
}
