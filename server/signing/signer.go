package signing

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"time"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"relevel/events"
	"relevel/events/proof"
)

// ErrDisagrees says that a log is not what was signed before. It is not signed again,
// and the store keeps what was found.
var ErrDisagrees = errors.New("the log does not agree with what was signed")

// leavesAtOnce is how many leaves are asked for at a time: 320 KB.
const leavesAtOnce = 10_000

// Signer signs the heads of logs.
type Signer struct {
	Log    events.Log
	Store  proof.Store
	Ring   *Ring
	Now    func() time.Time
	Logger *slog.Logger

	told sync.Map // faults that were logged, by job and size
}

// Sign signs the head of a job's log, unless it is signed, and returns its last
// checkpoint. The new head grows out of the state that was signed last, by the leaves
// that the store has had since; a head that is another is never signed, and the error
// is ErrDisagrees. Nothing that was signed is signed anew.
func (s *Signer) Sign(ctx context.Context, firm, job events.ID) (proof.Kept, error) {
	known, err := s.verifiers(ctx)
	if err != nil {
		return proof.Kept{}, err
	}
	last, err := s.last(ctx, firm, job) // before the head: another server may sign meanwhile
	if err != nil {
		return proof.Kept{}, err
	}
	if err := s.stillDisagrees(ctx, firm, job, last); err != nil {
		return last, err
	}
	head, err := s.Log.Head(ctx, firm, job)
	if err != nil {
		return proof.Kept{}, err
	}
	grown, why, err := s.grow(ctx, firm, job, last, head, known)
	switch {
	case err != nil:
		return last, err
	case why != "":
		return last, s.disagree(ctx, proof.Fault{Firm: firm, Job: job, Held: last.Size, Size: head.Seq, Root: head.Root, Why: why})
	case head.Seq == last.Size:
		return last, nil
	}
	return s.keep(ctx, firm, job, proof.Kept{Size: head.Seq, Frontier: grown})
}

// stillDisagrees looks at all leaves of a job of which something was found before: it
// is signed again only once they are back.
func (s *Signer) stillDisagrees(ctx context.Context, firm, job events.ID, last proof.Kept) error {
	faults, err := s.Store.ListFaults(ctx, firm, job)
	if err != nil || len(faults) == 0 || last.Size == 0 {
		return err
	}
	_, err = s.Tree(ctx, firm, job, last)
	return err
}

// last is the largest checkpoint of a job, or nothing of no records.
func (s *Signer) last(ctx context.Context, firm, job events.ID) (proof.Kept, error) {
	last, err := s.Store.LastCheckpoint(ctx, firm, job)
	if errors.Is(err, events.ErrNotFound) {
		return proof.Kept{}, nil
	}
	return last, err
}

// grow takes the tree that was signed last on to the head, or says why it does not get
// there.
func (s *Signer) grow(ctx context.Context, firm, job events.ID, last proof.Kept, head events.Head, known []note.Verifier) (f events.Frontier, why string, err error) {
	if last.Size > 0 {
		signed, err := proof.Open(last.Note, known...)
		if err != nil || signed.Size != last.Size || signed.Root != last.Frontier.Root() || !strings.HasSuffix(signed.Origin, proof.JobOrigin("", firm, job)) {
			return nil, "the last checkpoint is not as it was signed", nil
		}
	}
	if head.Seq < last.Size {
		return nil, "records are missing at the end", nil
	}
	leaves, err := s.leaves(ctx, firm, job, last.Size, head.Seq)
	if err != nil {
		return nil, "", err
	}
	if int64(len(leaves)) < head.Seq-last.Size {
		return nil, "records are missing", nil
	}
	f = last.Frontier
	for i, leaf := range leaves {
		f = f.Grow(last.Size+int64(i), leaf)
	}
	if f.Root() != head.Root || head.Frontier.Root() != head.Root {
		return nil, "its records are others", nil
	}
	return f, "", nil
}

// leaves reads those after a record up to another.
func (s *Signer) leaves(ctx context.Context, firm, job events.ID, after, upTo int64) ([]events.Hash, error) {
	return Leaves(ctx, s.Log, firm, job, after, upTo)
}

// Leaves reads the leaves of a job's log after a record up to another; fewer where the
// log is shorter.
func Leaves(ctx context.Context, log events.Log, firm, job events.ID, after, upTo int64) ([]events.Hash, error) {
	var all []events.Hash
	for after < upTo {
		asked := min(upTo-after, leavesAtOnce)
		page, err := log.Leaves(ctx, firm, job, after, int(asked))
		all, after = append(all, page...), after+asked
		if err != nil || int64(len(page)) < asked {
			return all, err
		}
	}
	return all, nil
}

// keep signs a state of a job's tree and keeps the checkpoint. Another server may have
// been first: then its note stays, over the same root.
func (s *Signer) keep(ctx context.Context, firm, job events.ID, k proof.Kept) (proof.Kept, error) {
	server, signers, err := s.Ring.Signers()
	if err != nil {
		return proof.Kept{}, err
	}
	k.Note, err = proof.Sign(proof.Checkpoint{Origin: proof.JobOrigin(server, firm, job), Size: k.Size, Root: k.Frontier.Root()}, signers...)
	if err != nil {
		return proof.Kept{}, err
	}
	k.At = s.Now().UTC().Truncate(time.Millisecond)
	if err := s.Store.KeepCheckpoint(ctx, firm, job, k); err != nil {
		return proof.Kept{}, err
	}
	return s.Store.FindCheckpoint(ctx, firm, job, k.Size)
}

// disagree keeps and logs what was found, and answers ErrDisagrees.
func (s *Signer) disagree(ctx context.Context, f proof.Fault) error {
	f.At = s.Now().UTC().Truncate(time.Millisecond)
	if _, told := s.told.LoadOrStore(fmt.Sprint(f.Firm, f.Job, f.Held), true); !told {
		s.Logger.ErrorContext(ctx, "a log does not agree with what was signed", "firm", f.Firm.String(), "job", f.Job.String(),
			"signed", f.Held, "records", f.Size, "root", f.Root.String(), "why", f.Why)
	}
	if err := s.Store.KeepFault(ctx, f); err != nil {
		return err
	}
	return fmt.Errorf("%w: %s", ErrDisagrees, f.Why)
}

// Tree builds a job's tree from all leaves under a checkpoint and checks that it is
// what was signed. Where it is not, the error is ErrDisagrees and the store keeps it.
func (s *Signer) Tree(ctx context.Context, firm, job events.ID, k proof.Kept) (*proof.Tree, error) {
	leaves, err := s.leaves(ctx, firm, job, 0, k.Size)
	if err != nil {
		return nil, err
	}
	signed, err := proof.Peek(k.Note)
	if err != nil {
		return nil, s.disagree(ctx, proof.Fault{Firm: firm, Job: job, Held: k.Size, Why: "the checkpoint is not as it was signed"})
	}
	tree := proof.NewTree(leaves)
	var fork *proof.Fork
	if err := tree.Agrees(signed.Checkpoint); errors.As(err, &fork) {
		return nil, s.disagree(ctx, proof.Fault{Firm: firm, Job: job, Held: k.Size, Size: fork.Shown.Size, Root: fork.Shown.Root, Why: "its records are others"})
	}
	return tree, err
}

// SignFirm puts the last checkpoint of every job that has a new one into the firm's
// log and signs that, if there is any. The tree of each such job is built anew from all its leaves: what
// a look at the newest alone does not find, this does, once in an hour.
func (s *Signer) SignFirm(ctx context.Context, firm events.ID) (signed bool, err error) {
	more, err := s.Store.Unlogged(ctx, firm)
	if err != nil || len(more) == 0 {
		return false, err
	}
	known, err := s.verifiers(ctx)
	if err != nil {
		return false, err
	}
	last, err := s.lastOfFirm(ctx, firm, known)
	if err != nil {
		return false, err
	}
	f := last.Frontier
	for i := range more {
		e := &more[i]
		// One that does not agree was signed all the same, and is in the log too.
		if _, err := s.Tree(ctx, firm, e.Job, proof.Kept{Size: e.Size, Note: e.Note}); err != nil && !errors.Is(err, ErrDisagrees) {
			return false, err
		}
		e.Seq, e.Leaf = last.Size+int64(i)+1, tlog.RecordHash(e.Note)
		f = f.Grow(e.Seq-1, e.Leaf)
	}
	k := proof.Kept{Size: last.Size + int64(len(more)), Frontier: f, At: s.Now()}
	server, signers, err := s.Ring.Signers()
	if err != nil {
		return false, err
	}
	k.Note, err = proof.Sign(proof.Checkpoint{Origin: proof.FirmOrigin(server, firm), Size: k.Size, Root: f.Root()}, signers...)
	if err != nil {
		return false, err
	}
	err = s.Store.ExtendFirmLog(ctx, firm, more, k)
	return err == nil, err
}

// lastOfFirm is the last checkpoint of the firm's log, or nothing of no entries. One
// that was changed is not built upon.
func (s *Signer) lastOfFirm(ctx context.Context, firm events.ID, known []note.Verifier) (proof.Kept, error) {
	last, err := s.Store.LastFirmCheckpoint(ctx, firm)
	if errors.Is(err, events.ErrNotFound) {
		return proof.Kept{}, nil
	}
	if err != nil {
		return last, err
	}
	signed, err := proof.Open(last.Note, known...)
	if err != nil || signed.Size != last.Size || signed.Root != last.Frontier.Root() {
		return last, fmt.Errorf("%w: the last checkpoint of the firm's log is not as it was signed", ErrDisagrees)
	}
	return last, nil
}

// verifiers are all keys that are known, those of other servers too. A server's own are
// made known before it signs.
func (s *Signer) verifiers(ctx context.Context) ([]note.Verifier, error) {
	keys, err := s.Keys(ctx)
	if err != nil {
		return nil, err
	}
	return proof.Verifiers(keys)
}

// Keys are the public keys that are known, the oldest first, this server's among them.
func (s *Signer) Keys(ctx context.Context) ([]proof.PublicKey, error) {
	own, err := s.Ring.Keys()
	if err != nil {
		return nil, err
	}
	kept, err := s.Store.ListKeys(ctx)
	if err != nil {
		return nil, err
	}
	known := map[proof.PublicKey]bool{}
	for _, k := range kept {
		known[k] = true
	}
	fresh := false
	for _, k := range own {
		if !known[k.PublicKey] {
			fresh = true
			if err := s.Store.KeepKey(ctx, k.PublicKey); err != nil {
				return nil, err
			}
		}
	}
	if !fresh {
		return kept, nil
	}
	return s.Store.ListKeys(ctx)
}
