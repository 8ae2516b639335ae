package proof_test

import (
	"encoding/hex"
	"fmt"
	"slices"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"relevel/events"
	"relevel/events/proof"
)

// The test vectors of certificate transparency (RFC 6962, sections 2.1.1 and
// 2.1.2; the same in RFC 9162, 2.1.3 and 2.1.4), as
// github.com/transparency-dev/merkle has them in log_verifier_test.go: eight
// leaves, the root at every size, and proofs.
var (
	publishedLeaves = []string{
		"", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f",
	}
	publishedRoots = []string{
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	}
	publishedInclusions = []published{
		{1, 1, nil},
		{1, 8, []string{
			"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
		}},
		{6, 8, []string{
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
			"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		}},
		{3, 3, []string{"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"}},
		{2, 5, []string{
			"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
		}},
	}
	publishedConsistencies = []published{
		{1, 1, nil},
		{1, 8, []string{
			"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
		}},
		{6, 8, []string{
			"0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
			"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		}},
		{2, 5, []string{
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
		}},
		{6, 7, []string{
			"0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
			"b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		}},
	}
)

// published is a proof about the leaf, or the smaller size, small under size.
type published struct {
	small, size int64
	path        []string
}

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func hashes(t testing.TB, hexes ...string) []events.Hash {
	t.Helper()
	var all []events.Hash
	for _, s := range hexes {
		all = append(all, events.Hash(unhex(t, s)))
	}
	return all
}

func publishedTree(t testing.TB) *proof.Tree {
	t.Helper()
	var leaves []events.Hash
	for _, s := range publishedLeaves {
		leaves = append(leaves, tlog.RecordHash(unhex(t, s)))
	}
	return proof.NewTree(leaves)
}

// at is the published root at a size, as a checkpoint.
func at(t testing.TB, size int64) proof.Checkpoint {
	t.Helper()
	return proof.Checkpoint{Origin: "published.example", Size: size, Root: hashes(t, publishedRoots[size])[0]}
}

func TestPublishedRoots(t *testing.T) {
	tree := publishedTree(t)
	for size := range int64(len(publishedRoots)) {
		if err := tree.Agrees(at(t, size)); err != nil {
			t.Error(err)
		}
	}
}

func TestPublishedInclusions(t *testing.T) {
	tree := publishedTree(t)
	for _, want := range publishedInclusions {
		t.Run(fmt.Sprintf("%d of %d", want.small, want.size), func(t *testing.T) {
			got, err := tree.Include(want.small, want.size)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(got.Path, hashes(t, want.path...)) {
				t.Errorf("the path is %v, want %v", got.Path, want.path)
			}
			leaf := tlog.RecordHash(unhex(t, publishedLeaves[want.small-1]))
			if err := got.In(at(t, want.size), leaf); err != nil {
				t.Error(err)
			}
			refusesOtherInclusions(t, got, at(t, want.size), leaf)
		})
	}
}

// refusesOtherInclusions changes whatever a proof of inclusion rests on.
func refusesOtherInclusions(t *testing.T, p proof.Inclusion, c proof.Checkpoint, leaf events.Hash) {
	t.Helper()
	refused := func(what string, p proof.Inclusion, c proof.Checkpoint, leaf events.Hash) {
		if p.In(c, leaf) == nil {
			t.Errorf("%s: still proven", what)
		}
	}
	other := leaf
	other[0] ^= 8
	refused("another leaf", p, c, other)
	for _, index := range []int64{p.Index - 1, p.Index + 1, p.Index ^ 2} {
		refused("another index", proof.Inclusion{Index: index, Path: p.Path}, c, leaf)
	}
	for _, size := range []int64{c.Size * 2, c.Size / 2} {
		refused("another size", p, proof.Checkpoint{Size: size, Root: c.Root}, leaf)
	}
	refused("another root", p, proof.Checkpoint{Size: c.Size, Root: other}, leaf)
	for what, path := range otherPaths(p.Path, c.Root) {
		refused(what, proof.Inclusion{Index: p.Index, Path: path}, c, leaf)
	}
}

// otherPaths are what is near a path and is not it.
func otherPaths(path []events.Hash, root events.Hash) map[string][]events.Hash {
	other := map[string][]events.Hash{
		"one more at the end":   append(slices.Clone(path), root),
		"one more at the start": append([]events.Hash{root}, path...),
	}
	for i := range path {
		changed := slices.Clone(path)
		changed[i][0] ^= 16
		other[fmt.Sprintf("a bit of hash %d", i)] = changed
	}
	if len(path) > 0 {
		other["the last left out"] = path[:len(path)-1]
		other["the first left out"] = path[1:]
	}
	return other
}

func TestPublishedConsistencies(t *testing.T) {
	tree := publishedTree(t)
	for _, want := range publishedConsistencies {
		t.Run(fmt.Sprintf("%d to %d", want.small, want.size), func(t *testing.T) {
			got, err := tree.Continue(want.small, want.size)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(got.Path, hashes(t, want.path...)) {
				t.Errorf("the path is %v, want %v", got.Path, want.path)
			}
			if err := got.Joins(at(t, want.small), at(t, want.size)); err != nil {
				t.Error(err)
			}
			refusesOtherConsistencies(t, got, at(t, want.small), at(t, want.size))
		})
	}
}

// refusesOtherConsistencies changes whatever a proof of consistency rests on.
func refusesOtherConsistencies(t *testing.T, p proof.Consistency, held, shown proof.Checkpoint) {
	t.Helper()
	refused := func(what string, path []events.Hash, held, shown proof.Checkpoint) {
		if (proof.Consistency{Old: held.Size, Path: path}).Joins(held, shown) == nil {
			t.Errorf("%s: still joined", what)
		}
	}
	for what, path := range otherPaths(p.Path, shown.Root) {
		refused(what, path, held, shown)
	}
	empty := at(t, 0).Root
	refused("another root held", p.Path, proof.Checkpoint{Origin: held.Origin, Size: held.Size, Root: empty}, shown)
	refused("another root shown", p.Path, held, proof.Checkpoint{Origin: shown.Origin, Size: shown.Size, Root: empty})
	if held.Size == shown.Size {
		return
	}
	refused("back in time", p.Path, shown, held)
	refused("no path", nil, held, shown)
	for _, size := range []int64{held.Size - 1, held.Size + 1, held.Size ^ 2} {
		refused("another size held", p.Path, proof.Checkpoint{Origin: held.Origin, Size: size, Root: held.Root}, shown)
	}
	for _, size := range []int64{shown.Size * 2, shown.Size / 2} {
		refused("another size shown", p.Path, held, proof.Checkpoint{Origin: shown.Origin, Size: size, Root: shown.Root})
	}
}
