package proof_test

import (
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/proof"
)

// pair is a key for a test, made from a seed.
type pair struct {
	note.Signer
	verifier string
}

func newPair(t testing.TB, name string, seed byte) pair {
	t.Helper()
	secret, verifier, err := proof.GenerateKey(rand.NewChaCha8([32]byte{seed}), name)
	if err != nil {
		t.Fatal(err)
	}
	signer, err := note.NewSigner(secret)
	if err != nil {
		t.Fatal(err)
	}
	return pair{signer, verifier}
}

func aCheckpoint(t testing.TB) proof.Checkpoint {
	c := at(t, 8)
	c.Origin = proof.JobOrigin("relevel.example", events.ID{1}, events.ID{2})
	return c
}

// While a key is rotated both sign, and whoever knows either can check.
func TestTwoKeysSign(t *testing.T) {
	old, fresh, stranger := newPair(t, "relevel.example", 1), newPair(t, "relevel.example", 2), newPair(t, "else.example", 3)
	signed, err := proof.Sign(aCheckpoint(t), old, fresh)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []pair{old, fresh} {
		s, err := proof.Open(signed, known(t, key.verifier)...)
		if err != nil || len(s.By) != 1 || s.By[0] != proof.SignedBy(key) || len(s.Unknown) != 1 {
			t.Errorf("%v, %v", s, err)
		}
	}
	s, err := proof.Open(signed, known(t, old.verifier, fresh.verifier, stranger.verifier)...)
	if err != nil || len(s.By) != 2 || s.Unknown != nil {
		t.Errorf("%v, %v", s, err)
	}
	if _, err := proof.Open(signed, known(t, stranger.verifier)...); !errors.Is(err, proof.ErrUnsigned) {
		t.Errorf("by a stranger's key: %v", err)
	}
}

// Somebody else's signature beside ours is kept and named, and counts for nothing.
func TestCosignersAreNamedNotCounted(t *testing.T) {
	ours, witness := newPair(t, "relevel.example", 1), newPair(t, "witness.example", 2)
	signed, err := proof.Sign(aCheckpoint(t), ours, witness)
	if err != nil {
		t.Fatal(err)
	}
	s, err := proof.Open(signed, known(t, ours.verifier)...)
	if err != nil || !slices.Equal(s.Unknown, []proof.Signature{proof.SignedBy(witness)}) || string(s.Note) != string(signed) {
		t.Errorf("%+v, %v", s, err)
	}
	alone, err := proof.Sign(aCheckpoint(t), witness)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := proof.Open(alone, known(t, ours.verifier)...); !errors.Is(err, proof.ErrUnsigned) {
		t.Errorf("signed by a witness alone: %v", err)
	}
}

// A wrong signature by one known key refuses the note, whoever else signed it.
func TestAWrongSignatureOfAKnownKey(t *testing.T) {
	one, two := newPair(t, "relevel.example", 1), newPair(t, "relevel.example", 2)
	signed, err := proof.Sign(aCheckpoint(t), one, two)
	if err != nil {
		t.Fatal(err)
	}
	other := aCheckpoint(t)
	other.Size = 7
	elsewhere, err := proof.Sign(other, two)
	if err != nil {
		t.Fatal(err)
	}
	lines, others := strings.SplitAfter(string(signed), "\n"), strings.SplitAfter(string(elsewhere), "\n")
	moved := strings.Join(lines[:len(lines)-2], "") + others[len(others)-2]
	if _, err := proof.Open([]byte(moved), known(t, one.verifier, two.verifier)...); !errors.Is(err, proof.ErrUnsigned) {
		t.Errorf("with a signature over another checkpoint: %v", err)
	}
}

// What would not read back is not signed.
func TestOnlyCheckpointsAreSigned(t *testing.T) {
	key := newPair(t, "relevel.example", 1)
	for name, change := range map[string]func(*proof.Checkpoint){
		"no origin":         func(c *proof.Checkpoint) { c.Origin = "" },
		"two lines":         func(c *proof.Checkpoint) { c.Origin = "a\n5" },
		"a negative size":   func(c *proof.Checkpoint) { c.Size = -1 },
		"an empty addition": func(c *proof.Checkpoint) { c.Extensions = []string{""} },
	} {
		c := aCheckpoint(t)
		change(&c)
		if _, err := proof.Sign(c, key); !errors.Is(err, proof.ErrMalformed) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := proof.Sign(aCheckpoint(t)); err == nil {
		t.Error("signed by nobody")
	}
}

func TestKeysReadBack(t *testing.T) {
	from := time.Date(2026, 3, 2, 1, 2, 3, 0, time.UTC)
	keys := []proof.PublicKey{
		{Verifier: newPair(t, "relevel.example", 1).verifier, From: from, Until: from.AddDate(1, 0, 0)},
		{Verifier: newPair(t, "relevel.example", 2).verifier, From: from.AddDate(1, 0, 0)},
	}
	text := proof.KeysText(keys)
	got, err := proof.ParseKeys(text)
	if err != nil || !slices.Equal(got, keys) {
		t.Errorf("%v, %v", got, err)
	}
	for name, changed := range map[string]string{
		"another case":   strings.Replace(text, "relevel.example+", "relevel.example+0", 1),
		"another zone":   strings.Replace(text, "Z ", "+00:00 ", 1),
		"no end":         strings.TrimSuffix(text, "\n"),
		"an empty line":  text + "\n",
		"a word more":    strings.Replace(text, " -\n", " - -\n", 1),
		"another letter": strings.Replace(text, "relevel", "Relevel", 1),
	} {
		if got, err := proof.ParseKeys(changed); !errors.Is(err, proof.ErrMalformed) {
			t.Errorf("%s: %v, %v", name, got, err)
		}
	}
}

func TestNamesOfKeys(t *testing.T) {
	for _, name := range []string{"", "two words", "a+b", "line\nline"} {
		if _, _, err := proof.GenerateKey(rand.NewChaCha8([32]byte{}), name); err == nil {
			t.Errorf("%q names a key", name)
		}
	}
}
