package proof

import (
	"fmt"
	"io"
	"strings"
	"time"

	"golang.org/x/mod/sumdb/note"
)

// PublicKey is what anybody needs to check signatures of one key, and when it was
// in use. A checkpoint carries no time, so the days are for people to read: what a
// retired key signed stays signed.
type PublicKey struct {
	Verifier string    // as note writes it: name+id+key
	From     time.Time // to the second
	Until    time.Time // zero while it signs
}

// ID is how the key is named under what it signed.
func (k PublicKey) ID() string {
	v, err := ParseVerifier(k.Verifier)
	if err != nil {
		return k.Verifier
	}
	return SignedBy(v).String()
}

// GenerateKey makes an Ed25519 key under a server's name: what signs, to be kept
// secret, and what anybody may have.
func GenerateKey(rand io.Reader, server string) (secret, verifier string, err error) {
	secret, verifier, err = note.GenerateKey(rand, server)
	if err != nil {
		return "", "", err
	}
	if _, err = ParseVerifier(verifier); err != nil {
		return "", "", fmt.Errorf("%q cannot name a key: a name has no spaces and no plus", server)
	}
	return secret, verifier, nil
}

// ParseVerifier reads a public key in its one form.
func ParseVerifier(s string) (note.Verifier, error) {
	v, err := note.NewVerifier(s)
	if err != nil {
		return nil, malformed("key", err.Error())
	}
	// The key's 33 bytes leave no bits unused, but base64 takes line ends, and the
	// id may be in either case.
	if !plain(s) || strings.ContainsRune(s, '\n') || !strings.HasPrefix(s, SignedBy(v).String()+"+") {
		return nil, malformed("key", "it is not in its one form")
	}
	return v, nil
}

// SignedBy is how a key is named under what it signed.
func SignedBy(v interface {
	Name() string
	KeyHash() uint32
}) Signature {
	return Signature{Name: v.Name(), ID: v.KeyHash()}
}

// KeysText writes public keys, one a line: the key, since when, and until when or a
// hyphen.
func KeysText(keys []PublicKey) string {
	var b strings.Builder
	for _, k := range keys {
		b.WriteString(k.Verifier + " " + stamp(k.From) + " " + stamp(k.Until) + "\n")
	}
	return b.String()
}

// ParseKeys reads what KeysText writes.
func ParseKeys(text string) ([]PublicKey, error) {
	var keys []PublicKey
	for line := range strings.Lines(text) {
		parts := strings.Split(strings.TrimSuffix(line, "\n"), " ")
		if len(parts) != 3 {
			return nil, malformed("list of keys", "a line is a key, since when and until when")
		}
		if _, err := ParseVerifier(parts[0]); err != nil {
			return nil, err
		}
		k := PublicKey{Verifier: parts[0], From: unstamp(parts[1]), Until: unstamp(parts[2])}
		keys = append(keys, k)
	}
	if KeysText(keys) != text {
		return nil, malformed("list of keys", "it reads otherwise when written anew")
	}
	return keys, nil
}

// Verifiers are the keys to Open with.
func Verifiers(keys []PublicKey) ([]note.Verifier, error) {
	var all []note.Verifier
	for _, k := range keys {
		v, err := ParseVerifier(k.Verifier)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, nil
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return "-"
	}
	return t.UTC().Format(time.RFC3339)
}

// unstamp reads what stamp wrote; whatever else it is given does not come out the
// same when it is written again.
func unstamp(s string) time.Time {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		return time.Time{}
	}
	return t
}
