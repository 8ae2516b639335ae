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

const (
	tokenPrefix = "rl"
	secretBytes = 32
)

// errNoToken does not say what is wrong, so that nobody can feel their way.
var errNoToken = errors.New("not a token of ours: it reads rl_<firm>_<secret>")

// NewToken makes the text of a token for a firm and the hash that is kept of
// it. The text is shown once and stored nowhere. It carries the firm, so that
// the firm is known before anything is looked up. The only error is that of
// the source of randomness.
func NewToken(firm events.ID, random io.Reader) (text string, hash events.Digest, err error) {
	var secret [secretBytes]byte
	if _, err := io.ReadFull(random, secret[:]); err != nil {
		return "", events.Digest{}, fmt.Errorf("make a token: %w", err)
	}
	text = tokenPrefix + "_" + hex.EncodeToString(firm[:]) + "_" + hex.EncodeToString(secret[:])
	return text, sha256.Sum256(secret[:]), nil
}

// ParseToken takes a token's text apart: the firm it speaks for, and the hash
// by which to look it up. It does not say whether the token is valid.
func ParseToken(text string) (firm events.ID, hash events.Digest, err error) {
	parts := strings.Split(text, "_")
	if len(parts) != 3 || parts[0] != tokenPrefix ||
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
