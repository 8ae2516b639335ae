package jobs

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"relevel/events"
)

// Pairing lets one device in, once and for a few minutes: the office reads a code
// out, and whoever types it gets an access of the firm's of its own. Only the
// code's hash is kept, and it leads to the firm: a device knows of none yet.
type Pairing struct {
	Hash      events.Digest
	Firm      events.ID
	ExpiresAt time.Time
}

// PairingLasts is how long a code can be typed.
const PairingLasts = 10 * time.Minute

// A code is eight characters, none of which is taken for another: no 0 and O, no
// 1 and I. That is 40 bits, which nobody guesses in ten minutes.
const (
	pairingLetters = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
	pairingLength  = 8
)

var errNoPairing = errors.New("not a pairing code: it has eight letters and digits, none of them 0, O, 1 or I")

// NewPairingCode makes a code as it is read out, "ABCD-EFGH", and the hash that is
// kept of it. The only error is that of the source of randomness.
func NewPairingCode(random io.Reader) (code string, hash events.Digest, err error) {
	var drawn [pairingLength]byte
	if _, err := io.ReadFull(random, drawn[:]); err != nil {
		return "", events.Digest{}, fmt.Errorf("make a pairing code: %w", err)
	}
	for i, b := range drawn { // 256 is a multiple of 32: each is as likely
		drawn[i] = pairingLetters[int(b)%len(pairingLetters)]
	}
	hash = sha256.Sum256(drawn[:])
	return string(drawn[:4]) + "-" + string(drawn[4:]), hash, nil
}

// ParsePairingCode hashes a code as somebody typed it: small letters, spaces and
// dashes do not matter.
func ParsePairingCode(text string) (events.Digest, error) {
	text = strings.ToUpper(strings.NewReplacer("-", "", " ", "", "\u2009", "", "–", "").Replace(text))
	if len(text) != pairingLength || strings.Trim(text, pairingLetters) != "" {
		return events.Digest{}, errNoPairing
	}
	return sha256.Sum256([]byte(text)), nil
}
