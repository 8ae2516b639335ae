package proof

import (
	"fmt"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"relevel/events"
)

const proofHeading = "c2sp.org/tlog-proof@v1"

// Inclusion proves that a record is in the log that a checkpoint was signed over.
type Inclusion struct {
	Index      int64 // from 0: the record's number less one
	Path       []events.Hash
	Checkpoint []byte // a signed note, as it is
}

// Text is C2SP's tlog-proof, without extra data.
func (p Inclusion) Text() string {
	var b strings.Builder
	b.WriteString(proofHeading + "\nindex " + strconv.FormatInt(p.Index, 10) + "\n")
	writeHashes(&b, p.Path)
	b.WriteByte('\n')
	b.Write(p.Checkpoint)
	return b.String()
}

// ParseInclusion reads a tlog-proof. A line of extra data, which nothing vouches
// for, is refused: no server of ours writes one.
func ParseInclusion(text string) (Inclusion, error) {
	head, checkpoint, split := strings.Cut(text, "\n\n")
	lines := strings.Split(head, "\n")
	if !split || len(text) > maxText || len(lines) < 2 || lines[0] != proofHeading {
		return Inclusion{}, malformed("proof", "it begins otherwise than "+proofHeading)
	}
	index, named := strings.CutPrefix(lines[1], "index ")
	p := Inclusion{Checkpoint: []byte(checkpoint)}
	var counted, hashed bool
	p.Index, counted = count(index)
	p.Path, hashed = hashes(lines[2:])
	if !named || !counted || !hashed {
		return Inclusion{}, malformed("proof", "its index or a hash is not in the one form")
	}
	if _, err := Peek(p.Checkpoint); err != nil {
		return Inclusion{}, err
	}
	if p.Text() != text {
		return Inclusion{}, malformed("proof", "it reads otherwise when written anew")
	}
	return p, nil
}

// Check says whether the leaf is where the proof says, under a checkpoint that a
// known key signed, which it returns.
func (p Inclusion) Check(leaf events.Hash, known ...note.Verifier) (Signed, error) {
	s, err := Open(p.Checkpoint, known...)
	if err != nil {
		return Signed{}, err
	}
	return s, p.In(s.Checkpoint, leaf)
}

// In says whether the leaf is where the proof says, under this checkpoint.
func (p Inclusion) In(c Checkpoint, leaf events.Hash) error {
	if p.Index < 0 || p.Index >= c.Size || c.Size > MaxSize {
		return fmt.Errorf("%w: record %d is not among %d", ErrMismatch, p.Index+1, c.Size)
	}
	if tlog.CheckRecord(p.Path, c.Size, c.Root, p.Index, leaf) != nil {
		return fmt.Errorf("%w: record %d is not what was signed with %d records", ErrMismatch, p.Index+1, c.Size)
	}
	return nil
}
