package events

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math/bits"
	"time"

	"golang.org/x/mod/sumdb/tlog"
)

// Hash is a SHA-256 of a node of a job's tree (RFC 6962, section 2.1).
type Hash = tlog.Hash

// Digest is the SHA-256 of a file's bytes. Its text form is 64 hexadecimal digits.
type Digest [sha256.Size]byte

func (d Digest) String() string { return hex.EncodeToString(d[:]) }

// IsZero reports whether the digest is missing.
func (d Digest) IsZero() bool { return d == Digest{} }

// MarshalText writes 64 lower-case hexadecimal digits.
func (d Digest) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads 64 hexadecimal digits.
func (d *Digest) UnmarshalText(text []byte) error {
	parsed, err := ParseDigest(string(text))
	if err != nil {
		return err
	}
	*d = parsed
	return nil
}

// ParseDigest reads 64 hexadecimal digits.
func ParseDigest(s string) (Digest, error) {
	var d Digest
	if len(s) != 2*len(d) {
		return Digest{}, fmt.Errorf("%.70q is not a SHA-256: it takes 64 hexadecimal digits", s)
	}
	if _, err := hex.Decode(d[:], []byte(s)); err != nil {
		return Digest{}, fmt.Errorf("%.70q is not a SHA-256: it takes 64 hexadecimal digits", s)
	}
	return d, nil
}

// Commit binds an event's exact bytes under a random salt. Without the salt
// the commitment says nothing about the bytes, so once both are erased nobody
// can confirm a guess of what they were.
func Commit(salt, raw []byte) Hash {
	h := sha256.New()
	h.Write(salt)
	h.Write(raw)
	var sum Hash
	h.Sum(sum[:0])
	return sum
}

// Leaf is what a job's tree commits to for one event.
type Leaf struct {
	Firm, Job  ID
	Seq        int64
	ID         ID
	Kind       Kind
	RecordedAt time.Time
	Commitment Hash
}

const leafLabel = "relevel-leaf-1"

// Hash is SHA-256(0x00 ‖ label ‖ firm ‖ job ‖ seq ‖ id ‖ kind ‖ recorded_at ‖
// commitment), each part behind the four bytes of its length; numbers are eight
// bytes, big-endian; times are milliseconds since 1970. The leading zero byte
// is RFC 6962's mark of a leaf. The format is settled: it never changes, a new
// one would take a new label.
func (l Leaf) Hash() Hash {
	b := make([]byte, 0, 256)
	b = appendPart(b, []byte(leafLabel))
	b = appendPart(b, l.Firm[:])
	b = appendPart(b, l.Job[:])
	b = appendPart(b, binary.BigEndian.AppendUint64(nil, uint64(l.Seq)))
	b = appendPart(b, l.ID[:])
	b = appendPart(b, []byte(l.Kind))
	b = appendPart(b, binary.BigEndian.AppendUint64(nil, uint64(l.RecordedAt.UnixMilli())))
	b = appendPart(b, l.Commitment[:])
	return tlog.RecordHash(b)
}

func appendPart(b, part []byte) []byte {
	b = binary.BigEndian.AppendUint32(b, uint32(len(part)))
	return append(b, part...)
}

// Frontier holds the roots of the complete subtrees a tree of n leaves is made
// of, widest first: all that is needed to add the next leaf. It has at most
// one hash for each bit of n, 17 at 10⁵ leaves.
type Frontier []Hash

// Grow returns the frontier of a tree of size leaves after one more. The
// receiver is not changed.
func (f Frontier) Grow(size int64, leaf Hash) Frontier {
	grown := append(make(Frontier, 0, len(f)+1), f...)
	grown = append(grown, leaf)
	for merges := bits.TrailingZeros64(^uint64(size)); merges > 0; merges-- {
		last := len(grown) - 1
		grown[last-1] = tlog.NodeHash(grown[last-1], grown[last])
		grown = grown[:last]
	}
	return grown
}

// Root is the RFC 6962 root of the tree; that of an empty tree is the SHA-256
// of nothing.
func (f Frontier) Root() Hash {
	if len(f) == 0 {
		return sha256.Sum256(nil)
	}
	root := f[len(f)-1]
	for i := len(f) - 2; i >= 0; i-- {
		root = tlog.NodeHash(f[i], root)
	}
	return root
}
