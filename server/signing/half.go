package signing

import (
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

// algorithm is the byte before an Ed25519 key, in C2SP's signed-note.
const algorithm = 1

// publicHalf makes of a secret key what anybody may have. The package that signs keeps
// its own to itself.
func publicHalf(secret string) (string, error) {
	signer, err := note.NewSigner(secret)
	if err != nil {
		return "", err
	}
	// PRIVATE, KEY, the name, the id, and base64, in which a plus may be too.
	raw, err := base64.StdEncoding.DecodeString(strings.SplitN(secret, "+", 5)[4])
	if err != nil || len(raw) != 1+ed25519.SeedSize || raw[0] != algorithm {
		return "", errors.New("no Ed25519 key")
	}
	public := ed25519.NewKeyFromSeed(raw[1:]).Public().(ed25519.PublicKey)
	return note.NewEd25519VerifierKey(signer.Name(), public)
}
