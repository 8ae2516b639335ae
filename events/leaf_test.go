package events_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"math/bits"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/tlog"
	"pgregory.net/rapid"

	"relevel/events"
)

// nodes keeps a whole tree, to compare a frontier with.
type nodes []tlog.Hash

func (n nodes) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(indexes))
	for i, at := range indexes {
		out[i] = n[at]
	}
	return out, nil
}

// A frontier says the same root as the whole tree, at every size.
func TestFrontier(t *testing.T) {
	var all nodes
	var f events.Frontier
	for n := range int64(300) {
		want, err := tlog.TreeHash(n, all)
		if err != nil {
			t.Fatal(err)
		}
		if f.Root() != want {
			t.Fatalf("%d leaves: root %v, want %v", n, f.Root(), want)
		}
		if len(f) > 9 {
			t.Fatalf("%d leaves need %d hashes", n, len(f))
		}
		leaf := tlog.RecordHash([]byte{byte(n), byte(n >> 8)})
		added, err := tlog.StoredHashesForRecordHash(n, leaf, all)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, added...)
		before := append(events.Frontier{}, f...)
		grown := f.Grow(n, leaf)
		for i := range before {
			if f[i] != before[i] {
				t.Fatal("growing changed what it grew from")
			}
		}
		f = grown
	}
}

// Trees of any size, beside the whole tree kept by tlog.
func TestFrontierOfAnySize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Int64Range(0, 2000).Draw(t, "size")
		first := rapid.Int64().Draw(t, "first")
		var all nodes
		var f events.Frontier
		for n := range size {
			leaf := tlog.RecordHash(binary.BigEndian.AppendUint64(nil, uint64(first+n)))
			added, err := tlog.StoredHashesForRecordHash(n, leaf, all)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, added...)
			f = f.Grow(n, leaf)
		}
		want, err := tlog.TreeHash(size, all)
		if err != nil {
			t.Fatal(err)
		}
		if f.Root() != want || len(f) != bits.OnesCount64(uint64(size)) {
			t.Fatalf("%d leaves: root %v of %d hashes, want %v", size, f.Root(), len(f), want)
		}
	})
}

// A frontier has one hash for each bit of its size, at sizes nobody can build.
func TestFrontierLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Int64Range(0, 1<<62).Draw(t, "size")
		f := make(events.Frontier, bits.OnesCount64(uint64(size)))
		if got, want := len(f.Grow(size, events.Hash{1})), bits.OnesCount64(uint64(size+1)); got != want {
			t.Fatalf("%d leaves need %d hashes, got %d", size+1, want, got)
		}
	})
}

// Roots of the trees over the first n of eight leaves, the test vectors of
// certificate transparency as github.com/transparency-dev/merkle has them in
// testonly/constants.go, and that of the empty tree, SHA-256 of nothing (RFC
// 6962 and RFC 9162, section 2.1).
func TestPublishedRoots(t *testing.T) {
	leaves := []string{"", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"}
	roots := []string{
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
	var f events.Frontier
	for n, want := range roots {
		if root := f.Root(); hex.EncodeToString(root[:]) != want {
			t.Errorf("%d leaves: %x, want %s", n, root[:], want)
		}
		if n < len(leaves) {
			data, err := hex.DecodeString(leaves[n])
			if err != nil {
				t.Fatal(err)
			}
			f = f.Grow(int64(n), tlog.RecordHash(data))
		}
	}
}

func someLeaf() events.Leaf {
	return events.Leaf{
		Firm: events.ID{1}, Job: events.ID{2}, Seq: 3, ID: events.ID{4}, Kind: "reading",
		RecordedAt: time.UnixMilli(1_772_000_000_123), Commitment: events.Hash{5},
	}
}

// The format is settled: this value, computed apart from this program by the
// words above Leaf.Hash, never changes.
func TestLeafIsSettled(t *testing.T) {
	const want = "e6c833cacf1b72e67477a7d5445aff2fba9c77167648b659364eef39e75ecf6b"
	if got := someLeaf().Hash(); hex.EncodeToString(got[:]) != want {
		t.Errorf("the leaf is %x, and was %s: logs of before would no longer verify", got[:], want)
	}
}

// Every part of a leaf counts.
func TestLeafBindsEveryPart(t *testing.T) {
	seen := map[events.Hash]string{someLeaf().Hash(): "nothing"}
	for name, change := range map[string]func(*events.Leaf){
		"firm":        func(l *events.Leaf) { l.Firm[15] = 1 },
		"job":         func(l *events.Leaf) { l.Job[15] = 1 },
		"seq":         func(l *events.Leaf) { l.Seq++ },
		"id":          func(l *events.Leaf) { l.ID[15] = 1 },
		"kind":        func(l *events.Leaf) { l.Kind = "readin" },
		"recorded_at": func(l *events.Leaf) { l.RecordedAt = l.RecordedAt.Add(time.Millisecond) },
		"commitment":  func(l *events.Leaf) { l.Commitment[31] = 1 },
	} {
		l := someLeaf()
		change(&l)
		if other, twice := seen[l.Hash()]; twice {
			t.Errorf("changing %s gives the leaf of changing %s", name, other)
		}
		seen[l.Hash()] = name
	}
	l := someLeaf()
	l.RecordedAt = l.RecordedAt.Add(time.Microsecond).UTC()
	if l.Hash() != someLeaf().Hash() {
		t.Error("less than a millisecond, or another zone, changes the leaf")
	}
}

// Any leaf is the hash of its parts by the words above Leaf.Hash, written out
// here a second time.
func TestLeafByItsWords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyLeaf(t)
		words := []byte{0}
		for _, part := range [][]byte{
			[]byte("relevel-leaf-1"), l.Firm[:], l.Job[:], eightBytes(l.Seq), l.ID[:],
			[]byte(l.Kind), eightBytes(l.RecordedAt.UnixMilli()), l.Commitment[:],
		} {
			words = append(words, 0, 0, byte(len(part)>>8), byte(len(part)))
			words = append(words, part...)
		}
		if got, want := l.Hash(), events.Hash(sha256.Sum256(words)); got != want {
			t.Fatalf("%v, want %v", got, want)
		}
	})
}

func eightBytes(n int64) []byte {
	b := make([]byte, 8)
	for i := range b {
		b[i] = byte(n >> (56 - 8*i))
	}
	return b
}

// No part can give bytes to its neighbour: a kind that takes in what follows it,
// or loses its end to it, is another leaf. Two kinds of one leaf never collide.
func TestLeafPartsDoNotRun(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := anyLeaf(t)
		b := a
		number := eightBytes(a.RecordedAt.UnixMilli())
		n := rapid.IntRange(1, 8).Draw(t, "moved")
		b.Kind += events.Kind(number[:n])
		moved := append(number[n:], a.Commitment[:n]...)
		b.RecordedAt = time.UnixMilli(int64(binary.BigEndian.Uint64(moved)))
		copy(b.Commitment[:], a.Commitment[n:])
		if a.Hash() == b.Hash() {
			t.Fatalf("%+v and %+v share a hash", a, b)
		}
		c := a
		c.Kind = anyLeaf(t).Kind
		if (a.Hash() == c.Hash()) != (a.Kind == c.Kind) {
			t.Fatalf("kinds %q and %q share a hash", a.Kind, c.Kind)
		}
	})
}

func anyLeaf(t *rapid.T) events.Leaf {
	few := rapid.SampledFrom([]byte{0, 1, 'a'})
	part := func(name string, least, most int) []byte { return rapid.SliceOfN(few, least, most).Draw(t, name) }
	number := func(name string) int64 { return int64(binary.BigEndian.Uint64(part(name, 8, 8))) }
	return events.Leaf{
		Firm: events.ID(part("firm", 16, 16)), Job: events.ID(part("job", 16, 16)), Seq: number("seq"), ID: events.ID(part("id", 16, 16)),
		Kind: events.Kind(part("kind", 0, 300)), RecordedAt: time.UnixMilli(number("recorded at")), Commitment: events.Hash(part("commitment", 32, 32)),
	}
}

// A commitment is one of the salt and the bytes, and of nothing else.
func TestCommit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		salt, raw := rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "salt"), rapid.SliceOf(rapid.Byte()).Draw(t, "raw")
		other := rapid.SliceOf(rapid.Byte()).Draw(t, "other")
		if !bytes.Equal(raw, other) && events.Commit(salt, raw) == events.Commit(salt, other) {
			t.Fatal("two different bytes, one commitment")
		}
		salt2 := bytes.Clone(salt)
		salt2[3] ^= 1
		if events.Commit(salt, raw) == events.Commit(salt2, raw) {
			t.Fatal("the salt does not count")
		}
	})
}

func TestParseDigest(t *testing.T) {
	d := events.Digest{0xab, 31: 0x01}
	if got, err := events.ParseDigest(d.String()); err != nil || got != d {
		t.Errorf("%v, %v", got, err)
	}
	for _, bad := range []string{"", "ab", d.String() + "0", "zz" + d.String()[2:]} {
		if _, err := events.ParseDigest(bad); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}
