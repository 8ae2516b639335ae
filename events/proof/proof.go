// Package proof says of a log what anybody can check without the server: its
// checkpoints, who signed them, and the proofs that a record is in the log and
// that one checkpoint continues another.
//
// The trees are those of RFC 6962 (section 2.1; the same in RFC 9162). The texts
// are C2SP's: tlog-checkpoint, signed-note, tlog-proof for a record, and for two
// checkpoints the body by which tlog-witness asks for a signature. Each text has
// one encoding. A parser writes anew what it read and compares the bytes, because
// the decoders below it are lenient: base64 takes line ends, and any value in the
// bits that its last character leaves unused.
//
// A proof shows that nothing was changed after a checkpoint left the server. It
// does not show that what was recorded was true.
package proof

import (
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"relevel/events"
)

// MaxSize is the most leaves that a checkpoint may speak of: what a browser's
// numbers hold exactly. The sums below it stay far from the end of an int64.
const MaxSize = 1 << 53

// maxPath is the longest proof that is read, as in tlog-witness; MaxSize needs fewer.
const maxPath = 63

// maxText bounds a text before it is taken apart: 16 signatures of any algorithm
// in use, and the proof before them (signed-note asks for at least that many).
const maxText = 128 << 10

var (
	// ErrMalformed: not the text it should be, or not in its one form.
	ErrMalformed = errors.New("malformed")
	// ErrUnsigned: no known key signed it, or one did and the signature is wrong.
	ErrUnsigned = errors.New("not signed by a known key")
	// ErrMismatch: a proof does not lead to the root that was signed.
	ErrMismatch = errors.New("does not agree")
)

// malformed says which text is not in its form, and why.
func malformed(text, why string) error {
	return fmt.Errorf("%w %s: %s", ErrMalformed, text, why)
}

// count reads a number of leaves as C2SP writes it: decimal, no leading zero.
func count(s string) (int64, bool) {
	n, err := strconv.ParseInt(s, 10, 64)
	return n, err == nil && n >= 0 && n <= MaxSize && strconv.FormatInt(n, 10) == s
}

// hash reads the one base64 form of a hash.
func hash(s string) (h events.Hash, ok bool) {
	raw, err := base64.StdEncoding.DecodeString(s)
	if err != nil || len(raw) != len(h) {
		return h, false
	}
	copy(h[:], raw)
	return h, h.String() == s
}

// hashes reads one hash a line.
func hashes(lines []string) ([]events.Hash, bool) {
	if len(lines) > maxPath {
		return nil, false
	}
	var all []events.Hash
	for _, line := range lines {
		h, ok := hash(line)
		if !ok {
			return nil, false
		}
		all = append(all, h)
	}
	return all, true
}

// writeHashes writes one hash a line.
func writeHashes(b *strings.Builder, all []events.Hash) {
	for _, h := range all {
		b.WriteString(h.String())
		b.WriteByte('\n')
	}
}
