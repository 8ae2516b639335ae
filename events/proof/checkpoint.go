package proof

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"relevel/events"
)

// Checkpoint is the head of a log at one size, as C2SP's tlog-checkpoint writes it:
// the origin, the number of leaves, the root, and lines that anybody may have added.
type Checkpoint struct {
	Origin     string
	Size       int64
	Root       events.Hash
	Extensions []string
}

// JobOrigin names the log of one job on the server of this name. The signature is
// under the server's name alone: one key signs for all its logs.
func JobOrigin(server string, firm, job events.ID) string {
	return fmt.Sprintf("%s/firms/%s/jobs/%s", server, firm, job)
}

// FirmOrigin names the log in which a firm's checkpoints are kept.
func FirmOrigin(server string, firm events.ID) string {
	return fmt.Sprintf("%s/firms/%s", server, firm)
}

// Text is what gets signed.
func (c Checkpoint) Text() string {
	var b strings.Builder
	b.WriteString(c.Origin + "\n" + strconv.FormatInt(c.Size, 10) + "\n" + c.Root.String() + "\n")
	for _, line := range c.Extensions {
		b.WriteString(line + "\n")
	}
	return b.String()
}

// ParseCheckpoint reads a checkpoint's text, without signatures.
func ParseCheckpoint(text string) (Checkpoint, error) {
	if len(text) > maxText || !plain(text) || !strings.HasSuffix(text, "\n") {
		return Checkpoint{}, malformed("checkpoint", "not lines of text")
	}
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	if len(lines) < 3 {
		return Checkpoint{}, malformed("checkpoint", "it takes an origin, a size and a root")
	}
	for _, line := range lines {
		if line == "" {
			return Checkpoint{}, malformed("checkpoint", "a line is empty")
		}
	}
	c := Checkpoint{Origin: lines[0]}
	var sized, rooted bool
	c.Size, sized = count(lines[1])
	c.Root, rooted = hash(lines[2])
	if !sized || !rooted {
		return Checkpoint{}, malformed("checkpoint", "its size or root is not in the one form")
	}
	if len(lines) > 3 {
		c.Extensions = lines[3:]
	}
	if c.Text() != text {
		return Checkpoint{}, malformed("checkpoint", "it reads otherwise when written anew")
	}
	return c, nil
}

// plain reports whether a text is what signed-note allows: UTF-8 without control
// characters other than the end of a line.
func plain(text string) bool {
	for i, r := range text {
		if r < 0x20 && r != '\n' {
			return false
		}
		if r == utf8.RuneError {
			if _, size := utf8.DecodeRuneInString(text[i:]); size == 1 {
				return false
			}
		}
	}
	return true
}

// Fork says that two checkpoints do not belong to one history: what was signed as
// Held cannot be continued to, or be a part of, what is Shown.
type Fork struct {
	Held, Shown Checkpoint
}

func (f *Fork) Error() string {
	return fmt.Sprintf("two histories: %d records with the root %s were signed as %s, and here are %d with the root %s",
		f.Held.Size, f.Held.Root, f.Held.Origin, f.Shown.Size, f.Shown.Root)
}

// Is has a fork found as a mismatch, too.
func (f *Fork) Is(target error) bool { return target == ErrMismatch }
