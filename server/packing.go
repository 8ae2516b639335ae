package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/pack"
	"relevel/server/pictures"
	"relevel/server/tasks"
)

// packKind is the kind of the tasks by which packs are made, whose ref is the pack's id.
const packKind = "pack"

const (
	packsKept  = 4                      // of a job and a paper; older ones are made again when they are asked for
	tellEvery  = 400 * time.Millisecond // between two words on how far a pack is
	mediaPDF   = "application/pdf"
	packFailed = "It could not be made just now. Ask for it again; if it fails again, tell whoever runs this server."
)

// packWork makes the packs that were asked for, one at a time on each server: a pack
// is the largest thing that a server makes.
type packWork struct {
	s      *Server
	queue  tasks.Queue
	runner *tasks.Runner
}

// newPackWork makes packs from the queue of the server, or from one of its own where
// there is none.
func newPackWork(s *Server, c Config) *packWork {
	w := &packWork{s: s, queue: c.Tasks}
	if c.Tasks == nil {
		w.queue = tasks.NewMemory()
	}
	w.runner = tasks.NewRunner(tasks.Config{
		Queue: w.queue, Now: c.Now, Logger: c.Logger, Meter: c.Meter, Tracer: c.Tracer, AtOnce: 1,
		Handlers: map[string]tasks.Handler{packKind: {Do: w.make, Backoff: packBackoff, Buried: w.buried}},
	})
	return w
}

// packBackoff tries three times: people wait.
func packBackoff(attempts int) (time.Duration, bool) {
	return time.Duration(attempts) * 2 * time.Second, attempts < 3
}

// ask asks for a pack of a job as it was after an event of its log. The same pack is
// made once, whoever asks and however often; one that failed is tried again.
func (w *packWork) ask(ctx context.Context, key jobKey, paper pack.Paper, upTo int64) (jobs.Pack, error) {
	now := w.s.config.Now()
	of, err := w.s.packOf(ctx, key, upTo)
	if err != nil {
		return jobs.Pack{}, err
	}
	id, err := events.NewID(now, w.s.config.Random)
	if err != nil {
		return jobs.Pack{}, err
	}
	p, _, err := w.s.config.Store.AskPack(ctx, jobs.Pack{
		Firm: key.firm, ID: id, Job: key.job, Paper: string(paper), UpTo: of.upTo, Basis: of.basis(), Asked: now.UTC().Truncate(time.Millisecond),
	})
	if err != nil || p.Ready() {
		return p, err
	}
	return p, w.add(ctx, p)
}

// add puts a pack into the queue. One that is in it already is made no second time,
// and one that was given up is taken up again.
func (w *packWork) add(ctx context.Context, p jobs.Pack) error {
	ref := p.ID.String()
	dead, err := w.queue.Dead(ctx, p.Firm)
	if err != nil {
		return err
	}
	if slices.ContainsFunc(dead, func(t tasks.Task) bool { return t.Kind == packKind && t.Ref == ref }) {
		if err := w.queue.Drop(ctx, p.Firm, packKind, ref); err != nil {
			return err
		}
	}
	if err := w.queue.Add(ctx, p.Firm, tasks.Task{Kind: packKind, Ref: ref, Due: w.s.config.Now()}); err != nil {
		return err
	}
	w.runner.Wake()
	return nil
}

// make makes the pack of a task. It is repeatable: a pack that is there is left, and
// the same pack made twice is the same file.
func (w *packWork) make(ctx context.Context, t tasks.Task) error {
	id, err := events.ParseID(t.Ref)
	if err != nil {
		return err
	}
	p, err := w.s.config.Store.FindPack(ctx, t.Firm, id)
	if errors.Is(err, events.ErrNotFound) || err == nil && p.Ready() {
		return nil
	}
	if err != nil {
		return err
	}
	begun := w.s.config.Now()
	if err := w.write(ctx, p); err != nil {
		return fmt.Errorf("make pack %s: %w", t.Ref, err)
	}
	w.s.config.Logger.InfoContext(ctx, "a pack was made", "firm", t.Firm.String(), "job", p.Job.String(), "took", w.s.config.Now().Sub(begun))
	return w.forgetOld(ctx, t.Firm, p.Job)
}

// write writes a pack into the store, telling how far it is.
func (w *packWork) write(ctx context.Context, p jobs.Pack) error {
	of, err := w.s.packOf(ctx, jobKey{p.Firm, p.Job}, p.UpTo)
	if err != nil {
		return err
	}
	k, err := w.s.pack(ctx, of, pack.Paper(p.Paper))
	if err != nil {
		return err
	}
	var told time.Time
	var standing jobs.PackStanding
	k.Photo = w.photoOf(p.Firm)
	sum, size, err := w.s.config.Photos.PutMade(ctx, p.Firm, mediaPDF, func(out io.Writer) error {
		_, err := k.Write(ctx, out, func(page, pages int) {
			standing.Page, standing.Pages = page, pages
			if now := w.s.config.Now(); now.Sub(told) > tellEvery {
				told = now
				w.tell(ctx, p, standing)
			}
		})
		return err
	})
	if err != nil {
		return err
	}
	standing.Made, standing.File, standing.Bytes = w.s.config.Now().UTC().Truncate(time.Millisecond), sum, size
	return w.s.config.Store.MarkPack(ctx, p.Firm, p.ID, standing)
}

// tell says how far a pack is. Where that cannot be said the pack is made all the same.
func (w *packWork) tell(ctx context.Context, p jobs.Pack, s jobs.PackStanding) {
	if err := w.s.config.Store.MarkPack(ctx, p.Firm, p.ID, s); err != nil {
		w.s.config.Logger.WarnContext(ctx, "how far a pack is was not said", "err", err)
	}
}

// photoOf reads photos of a firm for paper. What is no picture has its room left, as
// one that is not there has.
func (w *packWork) photoOf(firm events.ID) func(context.Context, events.Digest) ([]byte, error) {
	return func(ctx context.Context, file events.Digest) ([]byte, error) {
		b, err := w.s.config.Album.Paper(ctx, firm, file)
		if errors.Is(err, pictures.ErrUnreadable) {
			return nil, fmt.Errorf("%w: %w", events.ErrNotFound, err)
		}
		return b, err
	}
}

// buried tells those who wait that a pack is not tried again by itself.
func (w *packWork) buried(ctx context.Context, t tasks.Task, _ string) error {
	id, err := events.ParseID(t.Ref)
	if err != nil {
		return err
	}
	return w.s.config.Store.MarkPack(ctx, t.Firm, id, jobs.PackStanding{Failed: packFailed})
}

// forgetOld deletes packs that nobody is likely to ask for again.
func (w *packWork) forgetOld(ctx context.Context, firm, job events.ID) error {
	return dropPacks(ctx, w.s.config.Store, w.s.config.Photos.Objects, jobKey{firm, job}, packsKept)
}

// dropPacks deletes the packs of a job but the newest of each paper, with their files,
// unless one that stays has the same.
func dropPacks(ctx context.Context, store jobs.Packs, objects events.Objects, key jobKey, keep int) error {
	gone, err := store.ForgetPacks(ctx, key.firm, key.job, keep)
	if err != nil {
		return err
	}
	left, err := store.ListPacks(ctx, key.firm, key.job)
	if err != nil {
		return err
	}
	for _, p := range gone {
		shared := slices.ContainsFunc(left, func(o jobs.Pack) bool { return o.Ready() && o.File == p.File })
		if !p.Ready() || shared {
			continue
		}
		if err := objects.Delete(ctx, events.Key{Firm: key.firm, SHA256: p.File, Size: events.Made}); err != nil {
			return err
		}
	}
	return nil
}

// run works until ctx ends.
func (w *packWork) run(ctx context.Context) { w.runner.Run(ctx) }
