package proof_test

import (
	"bytes"
	"testing"

	"relevel/events/proof"
)

// What a parser takes is what is written anew of it, byte for byte.

func FuzzCheckpoint(f *testing.F) {
	f.Add(checkpointText)
	f.Add(checkpointText + "more\n")
	f.Fuzz(func(t *testing.T, text string) {
		if c, err := proof.ParseCheckpoint(text); err == nil && c.Text() != text {
			t.Errorf("%q reads as %q", text, c.Text())
		}
	})
}

func FuzzNote(f *testing.F) {
	f.Add([]byte(checkpointNote))
	f.Add([]byte(publicNote))
	keys := known(f, publicKey)
	f.Fuzz(func(t *testing.T, signed []byte) {
		s, err := proof.Open(signed, keys...)
		if err == nil && (!bytes.Equal(s.Note, signed) || s.Text() != publicNote[:len(s.Text())]) {
			t.Errorf("%q opens as %+v", signed, s)
		}
	})
}

func FuzzInclusion(f *testing.F) {
	f.Add(proofText)
	f.Fuzz(func(t *testing.T, text string) {
		p, err := proof.ParseInclusion(text)
		if err != nil {
			return
		}
		if p.Text() != text {
			t.Errorf("%q reads as %q", text, p.Text())
		}
		if s, err := proof.Peek(p.Checkpoint); err == nil && p.In(s.Checkpoint, s.Root) == nil && s.Size > 1 {
			t.Errorf("%q proves a root to be a leaf", text)
		}
	})
}

func FuzzConsistency(f *testing.F) {
	f.Add(witnessText)
	f.Fuzz(func(t *testing.T, text string) {
		p, err := proof.ParseConsistency(text)
		if err != nil {
			return
		}
		if p.Text() != text {
			t.Errorf("%q reads as %q", text, p.Text())
		}
		s, err := proof.Peek(p.Checkpoint)
		if err == nil && s.Size > p.Old && p.Old > 0 && p.Joins(proof.Checkpoint{Origin: s.Origin, Size: p.Old}, s.Checkpoint) == nil {
			t.Errorf("%q continues a root of zeros", text)
		}
	})
}

func FuzzKeys(f *testing.F) {
	f.Add(publicKey + " 2026-03-02T01:02:03Z -\n")
	f.Add(publicKey + " 2026-03-02T01:02:03Z 2027-03-02T01:02:03Z\n")
	f.Fuzz(func(t *testing.T, text string) {
		keys, err := proof.ParseKeys(text)
		if err == nil && proof.KeysText(keys) != text {
			t.Errorf("%q reads as %q", text, proof.KeysText(keys))
		}
	})
}
