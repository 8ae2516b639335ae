package proof

import (
	"fmt"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/tlog"

	"relevel/events"
)

// Consistency proves that a checkpoint continues the log as it was at a smaller
// size: nothing of the first Old records was changed, moved or left out.
type Consistency struct {
	Old        int64
	Path       []events.Hash
	Checkpoint []byte // the later one, a signed note, as it is
}

// Text is the body by which C2SP's tlog-witness asks for a signature.
func (p Consistency) Text() string {
	var b strings.Builder
	b.WriteString("old " + strconv.FormatInt(p.Old, 10) + "\n")
	writeHashes(&b, p.Path)
	b.WriteByte('\n')
	b.Write(p.Checkpoint)
	return b.String()
}

// ParseConsistency reads what Text writes.
func ParseConsistency(text string) (Consistency, error) {
	head, checkpoint, split := strings.Cut(text, "\n\n")
	lines := strings.Split(head, "\n")
	old, named := strings.CutPrefix(lines[0], "old ")
	if !split || !named || len(text) > maxText {
		return Consistency{}, malformed("proof", "it begins otherwise than with an old size")
	}
	p := Consistency{Checkpoint: []byte(checkpoint)}
	var counted, hashed bool
	p.Old, counted = count(old)
	p.Path, hashed = hashes(lines[1:])
	if !counted || !hashed {
		return Consistency{}, malformed("proof", "its old size or a hash is not in the one form")
	}
	if _, err := Peek(p.Checkpoint); err != nil {
		return Consistency{}, err
	}
	if p.Text() != text {
		return Consistency{}, malformed("proof", "it reads otherwise when written anew")
	}
	return p, nil
}

// Joins says whether the proof leads from the checkpoint that somebody held to the
// one that is shown. Where it does not, the error is a *Fork with both: a server
// that kept its log could have given a proof. Checkpoints of two names are not
// compared at all.
func (p Consistency) Joins(held, shown Checkpoint) error {
	if held.Origin != shown.Origin {
		return fmt.Errorf("%w: a checkpoint of %s was held, and one of %s is shown", ErrMismatch, held.Origin, shown.Origin)
	}
	return p.JoinsRoots(held, shown)
}

// JoinsRoots is Joins for a log whose server got another name in between.
func (p Consistency) JoinsRoots(held, shown Checkpoint) error {
	if p.Old != held.Size {
		return fmt.Errorf("%w: the proof is from %d records, and %d were held", ErrMismatch, p.Old, held.Size)
	}
	if !p.leads(held, shown) {
		return &Fork{Held: held, Shown: shown}
	}
	return nil
}

func (p Consistency) leads(held, shown Checkpoint) bool {
	switch {
	case held.Size > shown.Size || held.Size < 0 || shown.Size > MaxSize:
		return false
	case held.Size == shown.Size:
		return held.Root == shown.Root && len(p.Path) == 0
	case held.Size == 0:
		// Any log continues an empty one (RFC 9162, section 2.1.4).
		return held.Root == events.Frontier(nil).Root() && len(p.Path) == 0
	}
	return tlog.CheckTree(p.Path, shown.Size, shown.Root, held.Size, held.Root) == nil
}
