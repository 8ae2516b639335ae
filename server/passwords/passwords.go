// Package passwords hashes passwords with argon2id (RFC 9106), a few at a time, so
// that whoever tries many cannot take all memory.
package passwords

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"
	"sync/atomic"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"

	"relevel/events"
	"relevel/jobs"
)

// cost is what one hash takes: memory in KiB, passes over it, lanes.
type cost struct {
	memory, passes uint32
	lanes          uint8
}

// usual is the second of the settings that OWASP's Password Storage Cheat Sheet counts
// as equally strong (19 MiB, two passes, one lane): of them the one that leaves most
// room on a small server. RFC 9106, section 4, asks for 64 MiB where there is room.
var usual = cost{memory: 19 << 10, passes: 2, lanes: 1}

// What a kept hash may ask for at most, 256 MiB: one that asks for more was damaged or
// planted, and checking it would take the server down.
var most = cost{memory: 256 << 10, passes: 16, lanes: 16}

func (c cost) fits() bool {
	return c.passes > 0 && c.passes <= most.passes && c.lanes > 0 && c.lanes <= most.lanes && c.memory <= most.memory
}

// keyBytes is the length of what comes out (RFC 9106, section 4: 256 bits).
const keyBytes = 32

// Hasher hashes passwords, some at once and others after them.
type Hasher struct {
	room  chan struct{} // holds those at work
	queue chan struct{} // holds those who wait
	done  atomic.Int64
	dummy jobs.Salt
}

// New returns a hasher that works on so many at once, each of which takes 19 MiB, and
// lets eight times as many wait.
func New(atOnce int) *Hasher {
	h := &Hasher{room: make(chan struct{}, atOnce), queue: make(chan struct{}, 9*atOnce)}
	rand.Read(h.dummy[:])
	return h
}

// Done is how many hashes were reckoned so far.
func (h *Hasher) Done() int64 { return h.done.Load() }

// Hash returns what is kept of a password: how it was hashed, the salt and the hash,
// as the reference implementation writes them.
func (h *Hasher) Hash(ctx context.Context, password string, salt jobs.Salt) (string, error) {
	key, err := h.key(ctx, password, salt, usual)
	if err != nil {
		return "", err
	}
	return kept{usual, salt, key}.String(), nil
}

// Match reports which of some kept hashes a password belongs to. It takes as long for
// one as for none, and for several of one salt.
func (h *Hasher) Match(ctx context.Context, password string, hashes []string) ([]bool, error) {
	matches := make([]bool, len(hashes))
	keys := map[recipe][]byte{}
	for i, text := range hashes {
		k, ok := parse(text)
		if !ok {
			continue // one that only passkeys open
		}
		key, known := keys[k.recipe()]
		if !known {
			var err error
			if key, err = h.key(ctx, password, k.salt, k.cost); err != nil {
				return nil, err
			}
			keys[k.recipe()] = key
		}
		matches[i] = subtle.ConstantTimeCompare(key, k.key) == 1
	}
	if len(keys) == 0 {
		_, err := h.key(ctx, password, h.dummy, usual)
		return matches, err
	}
	return matches, nil
}

// key reckons one hash when there is room. A line that is too long is
// events.ErrUnavailable: come again.
func (h *Hasher) key(ctx context.Context, password string, salt jobs.Salt, c cost) ([]byte, error) {
	select {
	case h.queue <- struct{}{}:
	default:
		return nil, fmt.Errorf("hash a password: too many at once: %w", events.ErrUnavailable)
	}
	defer func() { <-h.queue }()
	select {
	case h.room <- struct{}{}:
	case <-ctx.Done():
		return nil, fmt.Errorf("hash a password: %w", ctx.Err())
	}
	defer func() { <-h.room }()
	h.done.Add(1)
	// A letter with an accent is one sign on one keyboard and two on another.
	text := norm.NFC.String(password)
	return argon2.IDKey([]byte(text), salt[:], c.passes, c.memory, c.lanes, keyBytes), nil
}

// kept is a hash with how it was made.
type kept struct {
	cost cost
	salt jobs.Salt
	key  []byte
}

// recipe is all that the key follows from, beside the password.
type recipe struct {
	cost cost
	salt jobs.Salt
}

func (k kept) recipe() recipe { return recipe{k.cost, k.salt} }

// plain is how the reference implementation writes bytes.
var plain = base64.RawStdEncoding

func (k kept) String() string {
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, k.cost.memory, k.cost.passes, k.cost.lanes,
		plain.EncodeToString(k.salt[:]), plain.EncodeToString(k.key))
}

// parse reads what String wrote.
func parse(text string) (kept, bool) {
	var k kept
	parts := strings.Split(text, "$")
	if len(parts) != 6 || parts[1] != "argon2id" || parts[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return k, false
	}
	if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &k.cost.memory, &k.cost.passes, &k.cost.lanes); err != nil {
		return k, false
	}
	salt, err := plain.DecodeString(parts[4])
	if err != nil || len(salt) != len(k.salt) {
		return k, false
	}
	copy(k.salt[:], salt)
	k.key, err = plain.DecodeString(parts[5])
	return k, err == nil && len(k.key) == keyBytes && k.cost.fits()
}
