package jobs

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"

	"relevel/events"
)

// What stands in front of a secret says what it opens.
const (
	tokenPrefix   = "rl"
	sessionPrefix = "rs"
	secretBytes   = 32
)

// errNoToken does not say what is wrong, so that nobody can feel their way.
var errNoToken = errors.New("not a token of ours: it reads rl_<firm>_<secret>")

// NewToken makes the text of a token for a firm and the hash that is kept of
// it. The text is shown once and stored nowhere. It carries the firm, so that
// the firm is known before anything is looked up. The only error is that of
// the source of randomness.
func NewToken(firm events.ID, random io.Reader) (text string, hash events.Digest, err error) {
	return newSecret(tokenPrefix, firm, random)
}

// ParseToken takes a token's text apart: the firm it speaks for, and the hash
// by which to look it up. It does not say whether the token is valid.
func ParseToken(text string) (firm events.ID, hash events.Digest, err error) {
	return parseSecret(tokenPrefix, text)
}

// newSecret draws a secret of a firm's, which reads <prefix>_<firm>_<secret>.
func newSecret(prefix string, firm events.ID, random io.Reader) (text string, hash events.Digest, err error) {
	var secret [secretBytes]byte
	if _, err := io.ReadFull(random, secret[:]); err != nil {
		return "", events.Digest{}, fmt.Errorf("make a secret: %w", err)
	}
	text = prefix + "_" + hex.EncodeToString(firm[:]) + "_" + hex.EncodeToString(secret[:])
	return text, sha256.Sum256(secret[:]), nil
}

func parseSecret(prefix, text string) (firm events.ID, hash events.Digest, err error) {
	parts := strings.Split(text, "_")
	if len(parts) != 3 || parts[0] != prefix ||
		len(parts[1]) != hex.EncodedLen(len(firm)) || len(parts[2]) != hex.EncodedLen(secretBytes) {
		return events.ID{}, events.Digest{}, errNoToken
	}
	var secret [secretBytes]byte
	if _, err := hex.Decode(firm[:], []byte(parts[1])); err != nil {
		return events.ID{}, events.Digest{}, errNoToken
	}
	if _, err := hex.Decode(secret[:], []byte(parts[2])); err != nil {
		return events.ID{}, events.Digest{}, errNoToken
	}
	return firm, sha256.Sum256(secret[:]), nil
}

// Scope is what a token opens.
type Scope string

// The scopes.
const (
	ScopePhone      Scope = "phone"      // what the phone's app asks for
	ScopeRead       Scope = "read"       // all that can be read, and nothing written
	ScopeEverything Scope = "everything" // as one of the office
)

// Known reports whether there is such a scope.
func (s Scope) Known() bool { return s == ScopePhone || s == ScopeRead || s == ScopeEverything }
