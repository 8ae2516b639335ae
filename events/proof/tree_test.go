package proof_test

import (
	"encoding/binary"
	"errors"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"
	"pgregory.net/rapid"

	"relevel/events"
	"relevel/events/proof"
)

func someLeaves(n, seed int64) []events.Hash {
	leaves := make([]events.Hash, n)
	for i := range leaves {
		leaves[i] = tlog.RecordHash(binary.BigEndian.AppendUint64(nil, uint64(seed+int64(i))))
	}
	return leaves
}

// Any record is proven under any size of any tree, and any size continues any
// smaller one; the roots are those that the log's frontier grows to.
func TestAnyTree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		leaves := someLeaves(rapid.Int64Range(1, 600).Draw(t, "leaves"), 0)
		tree := proof.NewTree(leaves)
		to := rapid.Int64Range(1, tree.Size()).Draw(t, "to")
		from := rapid.Int64Range(0, to).Draw(t, "from")
		seq := rapid.Int64Range(1, to).Draw(t, "seq")
		later, earlier := grown(leaves[:to]), grown(leaves[:from])
		in, err := tree.Include(seq, to)
		if err != nil || in.In(later, leaves[seq-1]) != nil {
			t.Fatalf("record %d of %d: %v", seq, to, err)
		}
		con, err := tree.Continue(from, to)
		if err != nil || con.Joins(earlier, later) != nil {
			t.Fatalf("%d to %d: %v", from, to, err)
		}
		if tree.Agrees(earlier) != nil || tree.Agrees(later) != nil {
			t.Fatalf("the tree of %d does not agree at %d and %d", tree.Size(), from, to)
		}
	})
}

func grown(leaves []events.Hash) proof.Checkpoint {
	var f events.Frontier
	for i, leaf := range leaves {
		f = f.Grow(int64(i), leaf)
	}
	return proof.Checkpoint{Origin: "relevel.example/jobs/1", Size: int64(len(leaves)), Root: f.Root()}
}

// Another history is said to be one, with both sizes and roots.
func TestForkIsSaid(t *testing.T) {
	ours, theirs := someLeaves(40, 0), someLeaves(60, 0)
	theirs[17] = events.Hash{1}
	held, shown := grown(ours), grown(theirs)
	con, err := proof.NewTree(theirs).Continue(held.Size, shown.Size)
	if err != nil {
		t.Fatal(err)
	}
	for name, err := range map[string]error{
		"a later checkpoint of another history":  con.Joins(held, shown),
		"one of the same size":                   proof.Consistency{Old: 40}.Joins(held, grown(theirs[:40])),
		"a shorter one":                          proof.Consistency{Old: 40}.Joins(held, grown(ours[:39])),
		"the leaves of another history":          proof.NewTree(theirs).Agrees(held),
		"leaves of which the last were left off": proof.NewTree(ours[:39]).Agrees(held),
	} {
		var fork *proof.Fork
		if !errors.As(err, &fork) || !errors.Is(err, proof.ErrMismatch) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, said := range []string{"40 records", held.Root.String(), fork.Shown.Root.String()} {
			if !strings.Contains(err.Error(), said) {
				t.Errorf("%s: %q does not say %s", name, err, said)
			}
		}
	}
}

// Another log's checkpoint is no fork of this one.
func TestAnotherLogIsNoFork(t *testing.T) {
	held := grown(someLeaves(4, 0))
	shown := held
	shown.Origin = "relevel.example/jobs/2"
	var fork *proof.Fork
	if err := (proof.Consistency{Old: 4}).Joins(held, shown); !errors.Is(err, proof.ErrMismatch) || errors.As(err, &fork) {
		t.Errorf("%v", err)
	}
}

func TestWhatATreeHasNot(t *testing.T) {
	tree := proof.NewTree(someLeaves(5, 0))
	for _, p := range [][2]int64{{0, 5}, {6, 6}, {-1, 5}, {3, 2}, {1, 6}} {
		if _, err := tree.Include(p[0], p[1]); err == nil {
			t.Errorf("record %d of %d is proven", p[0], p[1])
		}
	}
	for _, p := range [][2]int64{{-1, 5}, {3, 2}, {1, 6}} {
		if _, err := tree.Continue(p[0], p[1]); err == nil {
			t.Errorf("%d to %d is proven", p[0], p[1])
		}
	}
	if err := proof.NewTree(nil).Agrees(at(t, 0)); err != nil {
		t.Error(err)
	}
}

func BenchmarkTreeOf100000(b *testing.B) {
	leaves := someLeaves(100_000, 0)
	b.Run("build", func(b *testing.B) {
		for b.Loop() {
			proof.NewTree(leaves)
		}
	})
	tree := proof.NewTree(leaves)
	b.Run("include", func(b *testing.B) {
		for b.Loop() {
			if _, err := tree.Include(77_777, 99_999); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("continue", func(b *testing.B) {
		for b.Loop() {
			if _, err := tree.Continue(77_777, 99_999); err != nil {
				b.Fatal(err)
			}
		}
	})
}
