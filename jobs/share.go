package jobs

import (
	"context"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// Shares are the links by which owners see what was done at their house. A link leads to
// a share, and its secret, of which only the hash is kept, begins a visit: a short time in
// which one browser sees the job by a secret of its own.
type Shares interface {
	// CreateShare keeps a share. Its job has to be there, or it is events.ErrNotFound.
	CreateShare(ctx context.Context, s Share) error
	// OpenShare returns the share of that id with that secret. Where it is open at
	// v.Began it begins a visit and counts it; where it is not, the share says why, and
	// nothing is changed. A secret of another share is events.ErrNotFound, exactly as a
	// share that is not there.
	OpenShare(ctx context.Context, firm, id events.ID, secret events.Digest, v ShareVisit) (Share, error)
	// FindVisit returns the share that a visit is to, if the visit is not over at that
	// time; the share itself may be over by then. Anything else is events.ErrNotFound.
	FindVisit(ctx context.Context, firm, share events.ID, visit events.Digest, at time.Time) (Share, error)
	// EndVisit ends a visit; one that is over already stays so.
	EndVisit(ctx context.Context, firm, share events.ID, visit events.Digest) error
	// RevokeShare ends a share of a job, and with it all visits. The first time stays.
	RevokeShare(ctx context.Context, firm, job, id events.ID, at time.Time) error
	// ListShares returns those of a job, or of the firm where the job is zero, the newest
	// first, those that are over too.
	ListShares(ctx context.Context, firm, job events.ID) ([]Share, error)
}

// Share lets whoever has its link see one job.
type Share struct {
	Firm      events.ID
	ID        events.ID
	Job       events.ID
	Hash      events.Digest // SHA-256 of the secret
	Name      string        // whom it is for
	UpTo      int64         // the last record of the job that is seen; 0 where it goes on
	MadeBy    events.ID     // zero where no person made it
	CreatedAt time.Time
	ExpiresAt time.Time
	RevokedAt time.Time // zero until then
	Opened    int       // how many visits began
	OpenedAt  time.Time // when the last one did, zero before
}

// ShareVisit is one browser that a share was opened in.
type ShareVisit struct {
	Hash      events.Digest // SHA-256 of the secret that the browser keeps
	Began     time.Time
	ExpiresAt time.Time
}

// How long a share opens unless somebody says otherwise, and at most; and how long a
// visit lasts, after which the link opens another.
const (
	ShareLasts = 365 * 24 * time.Hour
	ShareMost  = 30 * 366 * 24 * time.Hour
	VisitLasts = 12 * time.Hour
)

// OpenAt reports whether a share opens at a time.
func (s Share) OpenAt(at time.Time) bool { return s.RevokedAt.IsZero() && at.Before(s.ExpiresAt) }

// Check reports, as an InputError, the first field that makes no sense.
func (s Share) Check() error {
	switch {
	case !s.ExpiresAt.After(s.CreatedAt):
		return levelling.Bad("expires_at", "a day that is still to come")
	case s.ExpiresAt.Sub(s.CreatedAt) > ShareMost:
		return levelling.Bad("expires_at", "at most 30 years from now")
	case s.UpTo < 0:
		return levelling.Bad("up_to", "the number of a line of the book")
	}
	return checkName("name", s.Name)
}

// Address is what stands behind /s/ in the link. It carries the firm, which is then
// known before anything is looked up, and it is no secret.
func (s Share) Address() string {
	return hex.EncodeToString(s.Firm[:]) + "-" + hex.EncodeToString(s.ID[:])
}

var errNoShare = errors.New("not the address of a share: it reads <firm>-<share>")

// ParseShareAddress takes an address apart. It does not say whether there is such a
// share.
func ParseShareAddress(text string) (firm, id events.ID, err error) {
	first, second, _ := strings.Cut(text, "-")
	if len(first) != hex.EncodedLen(len(firm)) || len(second) != hex.EncodedLen(len(id)) {
		return events.ID{}, events.ID{}, errNoShare
	}
	if _, err := hex.Decode(firm[:], []byte(first)); err != nil {
		return events.ID{}, events.ID{}, errNoShare
	}
	if _, err := hex.Decode(id[:], []byte(second)); err != nil {
		return events.ID{}, events.ID{}, errNoShare
	}
	return firm, id, nil
}

// Secrets of shares are written in the letters of a pairing code, because where no
// script runs somebody may have to type one.
var shareLetters = base32.NewEncoding(pairingLetters).WithPadding(base32.NoPadding)

// NewShareSecret makes the part of a link behind the #, and the hash that is kept of it.
// The only error is that of the source of randomness.
func NewShareSecret(random io.Reader) (text string, hash events.Digest, err error) {
	var secret [secretBytes]byte
	if _, err := io.ReadFull(random, secret[:]); err != nil {
		return "", events.Digest{}, fmt.Errorf("make a secret: %w", err)
	}
	return shareLetters.EncodeToString(secret[:]), sha256.Sum256(secret[:]), nil
}

// ShareCode writes a secret so that it can be read off and typed: in groups of four.
func ShareCode(secret string) string {
	var groups []string
	for len(secret) > 4 {
		groups, secret = append(groups, secret[:4]), secret[4:]
	}
	return strings.Join(append(groups, secret), "-")
}

// ParseShareSecret hashes a secret as somebody typed it, or what stands behind the # of
// a whole link: small letters, spaces and dashes do not matter. What is no secret has a
// hash too, which opens nothing.
func ParseShareSecret(text string) events.Digest {
	code := text[strings.LastIndexByte(text, '#')+1:]
	code = strings.ToUpper(strings.NewReplacer("-", "", " ", "", "\u2009", "", "–", "", "\n", "", "\r", "", "\t", "").Replace(code))
	secret, err := shareLetters.DecodeString(code)
	if err != nil || len(secret) != secretBytes {
		return sha256.Sum256([]byte("no secret: " + text))
	}
	return sha256.Sum256(secret)
}

// NewShareVisit makes what a browser keeps of a visit, and the hash that is kept of it.
func NewShareVisit(random io.Reader) (text string, hash events.Digest, err error) {
	var secret [secretBytes]byte
	if _, err := io.ReadFull(random, secret[:]); err != nil {
		return "", events.Digest{}, fmt.Errorf("make a secret: %w", err)
	}
	return hex.EncodeToString(secret[:]), sha256.Sum256(secret[:]), nil
}

// ParseShareVisit hashes what a browser kept. What is no secret has a hash too, which finds
// nothing.
func ParseShareVisit(text string) events.Digest {
	secret, err := hex.DecodeString(text)
	if err != nil || len(secret) != secretBytes {
		return sha256.Sum256([]byte("no visit: " + text))
	}
	return sha256.Sum256(secret)
}
