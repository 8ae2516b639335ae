package torture_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/pgdb/localpg"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/events/proof"
	"relevel/events/s3photos"
)

// audit looks at all that a crew was promised, past everything that may be broken, while
// nobody does anything. It returns what does not hold:
//
//   - what was acknowledged is there, byte for byte, under its number, and nothing is there
//     that nobody sent, or twice;
//   - numbers have no gap, and the tree that is reckoned anew from the bytes is the head;
//   - every checkpoint that is kept or was seen by anybody is signed and is the tree at its
//     size, so that each grows out of the one before, and the firm's log likewise;
//   - what was acknowledged as kept apart is in the quarantine;
//   - a photo is safe and whole, or still on its phone.
func (c *crew) audit() []string {
	c.breaks.Lock()
	defer c.breaks.Unlock()
	c.count.rest()
	c.book.Lock()
	defer c.book.Unlock()
	a := &auditor{crew: c, ctx: context.Background(), trees: map[events.ID]*proof.Tree{}}
	signed := a.checkpoints() // before the logs: servers go on signing, and logs only grow
	for _, job := range c.jobs {
		a.lookAtJob(job)
	}
	a.lookAtCheckpoints(signed)
	a.lookAtQuarantine()
	a.lookAtPhotos()
	c.count.mu.Lock()
	c.count.audits++
	c.count.mu.Unlock()
	return a.faults
}

// check audits, and fails the test where something does not hold.
func (c *crew) check(when string) {
	c.t.Helper()
	for _, fault := range c.audit() {
		c.t.Errorf("%s: %s", when, fault)
	}
}

type auditor struct {
	*crew
	ctx    context.Context
	trees  map[events.ID]*proof.Tree
	faults []string
}

func (a *auditor) lost(format string, args ...any) {
	a.count.lost.Add(1)
	a.found(format, args...)
}

func (a *auditor) forked(format string, args ...any) {
	a.count.forks.Add(1)
	a.found(format, args...)
}

func (a *auditor) found(format string, args ...any) {
	a.faults = append(a.faults, fmt.Sprintf(format, args...))
}

// lookAtJob reads a job's log and reckons its tree anew.
func (a *auditor) lookAtJob(job events.ID) {
	stored, leaves := a.read(job)
	there := map[events.ID]acked{}
	for i, s := range stored {
		if s.Seq != int64(i)+1 {
			a.count.gaps.Add(1)
			a.found("number %d is in place %d", s.Seq, i+1)
		}
		if _, twice := there[s.ID]; twice {
			a.found("event %s is there twice", s.ID)
		}
		if a.tried[s.ID] != string(s.Raw) {
			a.found("number %d is not what anybody sent", s.Seq)
		}
		there[s.ID] = acked{job, s.Seq, string(s.Raw)}
	}
	for id, promised := range a.acked {
		if promised.job == job && there[id] != promised {
			a.lost("event %s was acknowledged as number %d and is %+v", id, promised.seq, there[id])
		}
	}
	a.trees[job] = proof.NewTree(leaves)
	head, err := a.log().Head(a.ctx, a.firm, job)
	if err != nil {
		a.found("the head: %v", err)
		return
	}
	var grown events.Frontier
	for i, leaf := range leaves {
		grown = grown.Grow(int64(i), leaf)
	}
	if head.Seq != int64(len(stored)) || grown.Root() != head.Root || head.Frontier.Root() != head.Root {
		a.found("the head says %d and %s, the tree of all bytes is %d and %s", head.Seq, head.Root, len(stored), grown.Root())
	}
}

// read returns a job's log, and the leaves that its bytes give.
func (a *auditor) read(job events.ID) (stored []events.Stored, leaves []events.Hash) {
	for {
		page, err := a.log().Read(a.ctx, a.firm, job, int64(len(stored)), 1000)
		if err != nil {
			a.lost("read the log: %v", err)
			return stored, leaves
		}
		for _, s := range page {
			leaf := events.Leaf{Firm: a.firm, Job: job, Seq: s.Seq, ID: s.ID, Kind: s.Kind, RecordedAt: s.RecordedAt, Commitment: events.Commit(s.Salt, s.Raw)}.Hash()
			if leaf != s.Leaf {
				a.found("number %d has another leaf than its bytes give", s.Seq)
			}
			leaves = append(leaves, leaf)
		}
		stored = append(stored, page...)
		if len(page) < 1000 {
			return stored, leaves
		}
	}
}

// checkpoints reads what was signed of a firm's jobs and of its own log.
func (a *auditor) checkpoints() (all struct{ jobs, firm []noted }) {
	all.jobs = a.rows(`SELECT job, note FROM checkpoint WHERE firm = $1 ORDER BY job, size`)
	all.firm = a.rows(`SELECT firm, note FROM firm_checkpoint WHERE firm = $1 ORDER BY size`)
	a.signed = len(all.jobs)
	return all
}

// lookAtCheckpoints holds every checkpoint, those that were kept and those that somebody
// saw, against the trees.
func (a *auditor) lookAtCheckpoints(signed struct{ jobs, firm []noted }) {
	keys, err := pgproof.New(a.db.App).ListKeys(a.ctx)
	if err != nil {
		a.found("list the keys: %v", err)
		return
	}
	known, err := proof.Verifiers(keys)
	if err != nil {
		a.found("read the keys: %v", err)
		return
	}
	for _, k := range signed.jobs {
		a.holdTo(a.trees[k.of], k.note, known)
	}
	for text, job := range a.notes {
		a.holdTo(a.trees[job], []byte(text), known)
	}
	for _, f := range a.rows(`SELECT job, convert_to(why, 'UTF8') FROM checkpoint_fault WHERE firm = $1`) {
		a.forked("the server found of job %s: %s", f.of, f.note)
	}
	var leaves []events.Hash
	for _, e := range a.rows(`SELECT job, leaf FROM firm_leaf WHERE firm = $1 ORDER BY seq`) {
		leaves = append(leaves, events.Hash(e.note))
	}
	for _, k := range signed.firm {
		a.holdTo(proof.NewTree(leaves), k.note, known)
	}
}

func (a *auditor) holdTo(tree *proof.Tree, text []byte, known []note.Verifier) {
	signed, err := proof.Open(text, known...)
	if err != nil {
		a.forked("a checkpoint: %v", err)
		return
	}
	if err := tree.Agrees(signed.Checkpoint); err != nil {
		a.forked("a checkpoint of %d: %v", signed.Size, err)
	}
}

// noted is a row of an id and bytes.
type noted struct {
	of   events.ID
	note []byte
}

func (a *auditor) rows(sql string) []noted {
	conn, err := pgx.Connect(a.ctx, a.db.DSN(localpg.Superuser))
	if err != nil {
		a.found("%s: %v", sql, err)
		return nil
	}
	defer conn.Close(a.ctx)
	rows, err := conn.Query(a.ctx, sql, [16]byte(a.firm))
	if err != nil {
		a.found("%s: %v", sql, err)
		return nil
	}
	all, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (n noted, err error) {
		return n, row.Scan((*[16]byte)(&n.of), &n.note)
	})
	if err != nil {
		a.found("%s: %v", sql, err)
	}
	return all
}

func (a *auditor) lookAtQuarantine() {
	kept, err := a.log().Quarantined(a.ctx, a.firm, 1<<20)
	if err != nil {
		a.found("list the quarantine: %v", err)
	}
	there := map[string]bool{}
	for _, q := range kept {
		there[string(q.Raw)] = true
	}
	for _, raw := range a.apart {
		if !there[raw] {
			a.lost("not in the quarantine: %s", raw)
		}
	}
}

// lookAtPhotos reads back what phones have forgotten.
func (a *auditor) lookAtPhotos() {
	objects, err := s3photos.New(a.s3.direct)
	if err != nil {
		a.found("open the bucket: %v", err)
		return
	}
	photos := &events.Photos{Objects: objects, Ledger: pglog.NewLedger(a.db.App)}
	for _, digest := range a.dropped {
		_, body, err := photos.Open(a.ctx, a.firm, digest)
		if err != nil {
			a.lost("photo %s: %v", digest, err)
			continue
		}
		b, err := io.ReadAll(body)
		body.Close()
		if err != nil || sha256.Sum256(b) != digest {
			a.lost("photo %s is %d other bytes: %v", digest, len(b), err)
		}
	}
	for digest, b := range a.waiting {
		if sum := sha256.Sum256(b); !bytes.Equal(sum[:], digest[:]) {
			a.lost("photo %s is not on its phone", digest)
		}
	}
}
