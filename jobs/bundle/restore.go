package bundle

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"relevel/events"
	"relevel/events/proof"
	"relevel/jobs"
	"relevel/levelling"
)

// Into is where a bundle is restored to.
type Into struct {
	Log interface {
		events.Log
		events.Restorer
	}
	Store interface {
		Names
		jobs.Firms
		jobs.People
		jobs.Jobs
	}
	Signed interface {
		KeepCheckpoint(ctx context.Context, firm, job events.ID, k proof.Kept) error
		KeepKey(ctx context.Context, k proof.PublicKey) error
	}
	Photos interface {
		Put(ctx context.Context, u events.Upload) (events.Kept, error)
	}
	Now time.Time
}

// ErrChanged is a bundle that does not hold: nothing of it was restored.
var ErrChanged = errors.New("the bundle does not hold")

// Restored says what a restore put back.
type Restored struct {
	Firm, Job events.ID
	Name      string
	Records   int64
	Files     int
	Missing   int // files that the bundle says are missing
}

// Restore puts a bundle back: the firm, its people, the job, every record under its
// number, time and salt, photos, and what was signed. A bundle that does not hold, or
// a job that is there with other content, changes nothing of the log; the same bundle
// may be restored again. The reader is read twice, from its beginning.
func Restore(ctx context.Context, in io.ReadSeeker, into Into, tell Progress) (Restored, error) {
	v, err := read(in, Check{}, Visitor{})
	if err != nil {
		return Restored{}, err
	}
	if err := v.restorable(); err != nil {
		return Restored{}, err
	}
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return Restored{}, fmt.Errorf("read the bundle again: %w", err)
	}
	r := restoring{v: v, into: into, tell: tell}
	if err := r.around(ctx); err != nil {
		return Restored{}, err
	}
	if err := r.records(ctx); err != nil {
		return Restored{}, err
	}
	if err := r.files(ctx, in); err != nil {
		return Restored{}, err
	}
	return r.done, r.signed(ctx)
}

// restorable says why a bundle cannot be restored.
func (v *verifier) restorable() error {
	switch {
	case v.report.Verdict == Changed:
		return fmt.Errorf("%w: %s", ErrChanged, v.report.Faults[0].Says)
	case v.about.Photos != Originals:
		return levelling.Bad("bundle", "one with the original photos: from this one, with smaller ones, the records could not be proved")
	}
	return nil
}

type restoring struct {
	v    *verifier
	into Into
	tell Progress
	done Restored
}

// around makes the firm, its people and the job, where they are not there.
func (r *restoring) around(ctx context.Context) error {
	a, store := r.v.about, r.into.Store
	r.done = Restored{Firm: a.Firm.ID, Job: a.Job.ID, Name: a.Job.Name}
	firm := jobs.Firm{ID: a.Firm.ID, Name: a.Firm.Name, Words: a.Firm.Words, Units: a.Firm.Units, Zone: a.Firm.Zone, CreatedAt: r.into.Now}
	// A firm that is here goes by the name it has here, and so do its people.
	if _, err := store.FindFirm(ctx, firm.ID); errors.Is(err, events.ErrNotFound) {
		if err = firm.Check(); err == nil {
			err = store.CreateFirm(ctx, firm)
		}
		if err != nil {
			return fmt.Errorf("restore the firm: %w", err)
		}
	} else if err != nil {
		return err
	}
	for _, p := range a.People {
		if _, err := store.FindPerson(ctx, firm.ID, p.ID); !errors.Is(err, events.ErrNotFound) {
			if err != nil {
				return err
			}
			continue
		}
		one := jobs.Person{Firm: firm.ID, ID: p.ID, Name: p.Name, Role: p.Role, CreatedAt: r.into.Now}
		err := one.Check()
		if err == nil {
			err = store.CreatePerson(ctx, one)
		}
		if err != nil {
			return fmt.Errorf("restore the people: %w", err)
		}
	}
	return r.job(ctx)
}

func (r *restoring) job(ctx context.Context) error {
	a, store := r.v.about, r.into.Store
	job := jobs.Job{
		Firm: a.Firm.ID, ID: a.Job.ID, Name: a.Job.Name, Place: a.Job.Place, Zone: a.Job.Zone,
		PlannedFirst: a.Job.PlannedFirst, PlannedLast: a.Job.PlannedLast, CreatedAt: a.Job.CreatedAt,
	}
	if a.Crew != nil {
		job.Crew = a.Crew.ID
		if err := r.crew(ctx, *a.Crew); err != nil {
			return err
		}
	}
	_, err := store.FindJob(ctx, job.Firm, job.ID)
	if errors.Is(err, events.ErrNotFound) {
		if err = job.Check(); err == nil {
			err = store.CreateJob(ctx, job)
		}
	}
	if err == nil {
		err = r.into.Log.Create(ctx, job.Firm, job.ID)
	}
	if err != nil {
		return fmt.Errorf("restore the job: %w", err)
	}
	return nil
}

func (r *restoring) crew(ctx context.Context, c jobs.Crew) error {
	c.Firm = r.v.about.Firm.ID
	crews, err := r.into.Store.ListCrews(ctx, c.Firm)
	if err != nil {
		return err
	}
	for _, one := range crews {
		if one.ID == c.ID {
			return nil
		}
	}
	if err := c.Check(); err != nil {
		return err
	}
	if err := r.into.Store.CreateCrew(ctx, c); err != nil {
		return fmt.Errorf("restore the crew: %w", err)
	}
	return nil
}

// records puts the records back, as many at once as one append takes.
func (r *restoring) records(ctx context.Context) error {
	for rest := r.v.records; len(rest) > 0; {
		n, size := 0, 0
		for n < len(rest) && n < events.MaxBatchEvents && (n == 0 || size+len(rest[n].Raw) <= events.MaxBatchBytes) {
			size += len(rest[n].Raw)
			n++
		}
		if _, err := r.into.Log.Restore(ctx, r.done.Firm, r.done.Job, rest[:n]); err != nil {
			return err
		}
		r.done.Records += int64(n)
		rest = rest[n:]
	}
	return nil
}

// files reads the bundle again for its photos and sounds. The store looks at the
// digest of each.
func (r *restoring) files(ctx context.Context, in io.Reader) error {
	for _, f := range r.v.list {
		if f.Kept == IsMissing {
			r.done.Missing++
		}
	}
	again, err := read(in, Check{}, Visitor{File: func(f File, data []byte) error { return r.file(ctx, f, data) }})
	if err != nil {
		return err
	}
	if again.report.Verdict == Changed || again.about.Root != r.v.about.Root {
		return fmt.Errorf("%w: it was changed while it was read", ErrChanged)
	}
	return nil
}

func (r *restoring) file(ctx context.Context, f File, data []byte) error {
	u := events.Upload{Firm: r.done.Firm, SHA256: f.SHA256, Bytes: int64(len(data)), Media: events.Sniff(data), At: r.into.Now, Body: bytes.NewReader(data)}
	if _, err := r.into.Photos.Put(ctx, u); err != nil {
		return fmt.Errorf("restore %s: %w", f.Name, err)
	}
	r.done.Files++
	if r.tell != nil {
		r.tell(r.done.Files, len(r.v.list))
	}
	return nil
}

// signed keeps the keys and the checkpoints. The firm's log of another server is not
// restored by one job of it: here it begins anew.
func (r *restoring) signed(ctx context.Context) error {
	keys, err := proof.ParseKeys(string(r.v.parts.Keys))
	if err != nil {
		return fmt.Errorf("restore the keys: %w", err)
	}
	for _, k := range keys {
		if err := r.into.Signed.KeepKey(ctx, k); err != nil {
			return fmt.Errorf("restore the keys: %w", err)
		}
	}
	if len(r.v.parts.Checkpoint) == 0 {
		return nil
	}
	c, err := proof.Peek(r.v.parts.Checkpoint)
	if err != nil {
		return fmt.Errorf("restore the checkpoint: %w", err)
	}
	var tree events.Frontier
	for i, e := range r.v.records[:c.Size] {
		tree = tree.Grow(int64(i), e.Leaf)
	}
	k := proof.Kept{Size: c.Size, Frontier: tree, Note: r.v.parts.Checkpoint, At: r.into.Now}
	if err := r.into.Signed.KeepCheckpoint(ctx, r.done.Firm, r.done.Job, k); err != nil {
		return fmt.Errorf("restore the checkpoint: %w", err)
	}
	return nil
}
