package bundle

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"relevel/events"
	"relevel/events/proof"
	"relevel/jobs"
)

// From is where a bundle's contents come from.
type From struct {
	Log   events.Log
	Store Names
	Signed
}

// Names are what a bundle tells of a job beside its log.
type Names interface {
	FindFirm(ctx context.Context, id events.ID) (jobs.Firm, error)
	FindJob(ctx context.Context, firm, id events.ID) (jobs.Job, error)
	ListPeople(ctx context.Context, firm events.ID) ([]jobs.Person, error)
	ListCrews(ctx context.Context, firm events.ID) ([]jobs.Crew, error)
}

// Signed is what was signed of logs.
type Signed interface {
	LastCheckpoint(ctx context.Context, firm, job events.ID) (proof.Kept, error)
	ListEntries(ctx context.Context, firm events.ID, after int64, limit int) ([]proof.Entry, error)
	LastFirmCheckpoint(ctx context.Context, firm events.ID) (proof.Kept, error)
	ListKeys(ctx context.Context) ([]proof.PublicKey, error)
}

// Order says what goes into a bundle.
type Order struct {
	Firm, Job events.ID
	Upto      int64 // the last record that goes into it; 0: all there are
	Photos    Photos
}

// readPage is how many records or entries are read at once.
const readPage = 500

// Gather reads all of a bundle but its photos.
func Gather(ctx context.Context, from From, o Order) (Contents, error) {
	// The checkpoint first: the log may grow meanwhile, and it is to reach that far.
	last, err := from.LastCheckpoint(ctx, o.Firm, o.Job)
	if err != nil && !errors.Is(err, events.ErrNotFound) {
		return Contents{}, fmt.Errorf("read what was signed: %w", err)
	}
	var c Contents
	if c.Records, err = readLog(ctx, from.Log, o); err != nil {
		return Contents{}, err
	}
	if c.About, err = aboutOf(ctx, from.Store, o, c.Records); err != nil {
		return Contents{}, err
	}
	if last.Size > 0 && last.Size <= c.About.Seq {
		c.Tree.Checkpoint = last.Note
	}
	if err := c.readFirmLog(ctx, from.Signed, o); err != nil {
		return Contents{}, err
	}
	return c, c.readKeys(ctx, from.Signed)
}

func readLog(ctx context.Context, log events.Log, o Order) ([]events.Stored, error) {
	head, err := log.Head(ctx, o.Firm, o.Job)
	if err != nil {
		return nil, fmt.Errorf("read the log: %w", err)
	}
	upto := head.Seq
	if o.Upto > 0 {
		upto = min(upto, o.Upto)
	}
	all := make([]events.Stored, 0, upto)
	for after := int64(0); after < upto; after = int64(len(all)) {
		page, err := log.Read(ctx, o.Firm, o.Job, after, int(min(readPage, upto-after)))
		if err != nil {
			return nil, fmt.Errorf("read the log: %w", err)
		}
		if len(page) == 0 {
			return nil, fmt.Errorf("the log ends at %d and has %d records", after, head.Seq)
		}
		all = append(all, page...)
	}
	return all, nil
}

func aboutOf(ctx context.Context, store Names, o Order, all []events.Stored) (About, error) {
	firm, err := store.FindFirm(ctx, o.Firm)
	if err != nil {
		return About{}, err
	}
	job, err := store.FindJob(ctx, o.Firm, o.Job)
	if err != nil {
		return About{}, err
	}
	a := About{
		Schema: Schema, Firm: Firm{ID: firm.ID, Name: firm.Name, Words: firm.Words, Units: firm.Units, Zone: firm.Zone},
		Job: Job{ID: job.ID, Name: job.Name, Place: job.Place, Zone: job.Zone, PlannedFirst: job.PlannedFirst, PlannedLast: job.PlannedLast, CreatedAt: job.CreatedAt.UTC()},
		Seq: int64(len(all)), Photos: o.Photos,
	}
	var tree events.Frontier
	for i, e := range all {
		tree = tree.Grow(int64(i), e.Leaf)
	}
	a.Root = events.Digest(tree.Root())
	if a.People, err = peopleOf(ctx, store, o.Firm, all); err != nil || job.Crew.IsZero() {
		return a, err
	}
	crews, err := store.ListCrews(ctx, o.Firm)
	if i := slices.IndexFunc(crews, func(c jobs.Crew) bool { return c.ID == job.Crew }); i >= 0 {
		a.Crew = &jobs.Crew{ID: crews[i].ID, Name: crews[i].Name}
	}
	return a, err
}

// peopleOf are those who recorded something that is still there.
func peopleOf(ctx context.Context, store Names, firm events.ID, all []events.Stored) ([]Person, error) {
	by := map[events.ID]bool{}
	for _, e := range all {
		by[e.By] = true
	}
	people, err := store.ListPeople(ctx, firm)
	list := []Person{}
	for _, p := range people {
		if by[p.ID] {
			list = append(list, Person{ID: p.ID, Name: p.Name, Role: p.Role})
		}
	}
	slices.SortFunc(list, func(a, b Person) int { return slices.Compare(a.ID[:], b.ID[:]) })
	return list, err
}

// readFirmLog finds the last checkpoint of these records that stands in the firm's
// log, and proves that it does. Where the last one of the job reaches further than
// the bundle, it is the bundle's checkpoint, too.
func (c *Contents) readFirmLog(ctx context.Context, from Signed, o Order) error {
	head, err := from.LastFirmCheckpoint(ctx, o.Firm)
	if errors.Is(err, events.ErrNotFound) {
		return nil
	}
	var leaves []events.Hash
	var mine proof.Entry
	for after := int64(0); err == nil && after < head.Size; after = int64(len(leaves)) {
		var page []proof.Entry
		page, err = from.ListEntries(ctx, o.Firm, after, int(min(readPage, head.Size-after)))
		if err == nil && len(page) == 0 {
			err = fmt.Errorf("the firm's log ends at %d and has %d entries", after, head.Size)
		}
		for _, e := range page {
			leaves = append(leaves, e.Leaf)
			if e.Job == o.Job && e.Size <= c.About.Seq {
				mine = e
			}
		}
	}
	if err != nil {
		return fmt.Errorf("read the firm's log: %w", err)
	}
	if mine.Seq == 0 {
		return nil
	}
	p, err := proof.NewTree(leaves).Include(mine.Seq, head.Size)
	if err != nil {
		return fmt.Errorf("prove the checkpoint: %w", err)
	}
	p.Checkpoint = head.Note
	c.Tree.Logged, c.Tree.Firm = mine.Note, []byte(p.Text())
	if len(c.Tree.Checkpoint) == 0 {
		c.Tree.Checkpoint = mine.Note
	}
	return nil
}

// readKeys takes the keys that signed what is in the bundle.
func (c *Contents) readKeys(ctx context.Context, from Signed) error {
	var signers []proof.Signature
	for _, part := range []part{{"", c.Tree.Checkpoint}, {"", c.Tree.Logged}} {
		if s, err := proof.Peek(part.data); err == nil {
			signers = append(signers, s.Unknown...)
		}
	}
	if p, err := proof.ParseInclusion(string(c.Tree.Firm)); err == nil {
		if s, err := proof.Peek(p.Checkpoint); err == nil {
			signers = append(signers, s.Unknown...)
		}
	}
	all, err := from.ListKeys(ctx)
	if err != nil {
		return fmt.Errorf("read the public keys: %w", err)
	}
	var keys []proof.PublicKey
	for _, k := range all {
		v, err := proof.ParseVerifier(k.Verifier)
		if err != nil {
			return fmt.Errorf("read the public keys: %w", err)
		}
		if slices.Contains(signers, proof.SignedBy(v)) {
			keys = append(keys, k)
		}
	}
	c.Tree.Keys = []byte(proof.KeysText(keys))
	return nil
}
