package proof

import (
	"fmt"

	"golang.org/x/mod/sumdb/tlog"

	"relevel/events"
)

// Tree is a log's tree over the hashes of its leaves, with every complete subtree,
// twice the leaves in all: built once, it proves anything about any of its sizes
// with a few look-ups. Nothing changes it.
type Tree struct {
	levels [][]events.Hash // levels[0] are the leaves
}

// NewTree builds the tree over leaves, in the order of the log.
func NewTree(leaves []events.Hash) *Tree {
	t := &Tree{levels: [][]events.Hash{leaves}}
	for below := leaves; len(below) > 1; below = t.levels[len(t.levels)-1] {
		level := make([]events.Hash, len(below)/2)
		for i := range level {
			level[i] = tlog.NodeHash(below[2*i], below[2*i+1])
		}
		t.levels = append(t.levels, level)
	}
	return t
}

// Size is the number of leaves.
func (t *Tree) Size() int64 { return int64(len(t.levels[0])) }

// ReadHashes looks up subtrees by the numbers that tlog gives them.
func (t *Tree) ReadHashes(indexes []int64) ([]events.Hash, error) {
	found := make([]events.Hash, len(indexes))
	for i, index := range indexes {
		level, n := tlog.SplitStoredHashIndex(index)
		if level >= len(t.levels) || n >= int64(len(t.levels[level])) {
			return nil, fmt.Errorf("a tree of %d leaves has no subtree %d of level %d", t.Size(), n, level)
		}
		found[i] = t.levels[level][n]
	}
	return found, nil
}

// Root is that of the first size leaves.
func (t *Tree) Root(size int64) (events.Hash, error) {
	if size < 0 || size > t.Size() {
		return events.Hash{}, fmt.Errorf("a tree of %d leaves has no root at %d", t.Size(), size)
	}
	if size == 0 {
		return events.Frontier(nil).Root(), nil
	}
	return tlog.TreeHash(size, t)
}

// Include proves that the record of this number, counted from 1, is among the first
// size. The proof still wants its checkpoint.
func (t *Tree) Include(seq, size int64) (Inclusion, error) {
	if seq < 1 || seq > size || size > t.Size() {
		return Inclusion{}, fmt.Errorf("no proof of record %d among %d: the log has %d", seq, size, t.Size())
	}
	path, err := tlog.ProveRecord(size, seq-1, t)
	return Inclusion{Index: seq - 1, Path: path}, err
}

// Continue proves that the tree of the first to leaves continues that of the first
// from. The proof still wants its checkpoint.
func (t *Tree) Continue(from, to int64) (Consistency, error) {
	if from < 0 || from > to || to > t.Size() {
		return Consistency{}, fmt.Errorf("no proof from %d to %d: the log has %d", from, to, t.Size())
	}
	if from == 0 || from == to {
		return Consistency{Old: from}, nil
	}
	path, err := tlog.ProveTree(to, from, t)
	return Consistency{Old: from, Path: path}, err
}

// Agrees says whether these leaves are what a checkpoint was signed over, or begin
// with it. Where not, it is a *Fork that shows what they are at that size, or
// altogether where they are fewer.
func (t *Tree) Agrees(c Checkpoint) error {
	shown := Checkpoint{Origin: c.Origin, Size: min(c.Size, t.Size())}
	var err error
	if shown.Root, err = t.Root(shown.Size); err != nil {
		return err
	}
	if shown.Size != c.Size || shown.Root != c.Root {
		return &Fork{Held: c, Shown: shown}
	}
	return nil
}
