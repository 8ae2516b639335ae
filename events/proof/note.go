package proof

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

// maxSignatures is how many lines of signatures are read.
const maxSignatures = 64

// Signature names the key of one line under a checkpoint.
type Signature struct {
	Name string
	ID   uint32 // the first bytes of the key's SHA-256; it tells keys apart and proves nothing
}

func (s Signature) String() string { return fmt.Sprintf("%s+%08x", s.Name, s.ID) }

// Signed is a checkpoint with its signatures, of which at least one is by a known
// key and holds.
type Signed struct {
	Checkpoint
	By      []Signature // known keys; each signature holds
	Unknown []Signature // keys nobody vouches for: kept and named, never counted
	Note    []byte      // the exact bytes
}

// Sign writes a checkpoint as a note with a line for every signer, in their order.
func Sign(c Checkpoint, signers ...note.Signer) ([]byte, error) {
	if len(signers) == 0 {
		return nil, errors.New("sign a checkpoint: there is no key")
	}
	if _, err := ParseCheckpoint(c.Text()); err != nil {
		return nil, fmt.Errorf("sign a checkpoint: %w", err)
	}
	signed, err := note.Sign(&note.Note{Text: c.Text()}, signers...)
	if err != nil {
		return nil, fmt.Errorf("sign a checkpoint: %w", err)
	}
	return signed, nil
}

// Open reads a signed checkpoint and checks the signatures of the keys that are
// known. A known key's wrong signature refuses the whole, whatever else holds.
func Open(signed []byte, known ...note.Verifier) (Signed, error) {
	s, err := Peek(signed)
	if err != nil {
		return Signed{}, err
	}
	n, err := note.Open(signed, note.VerifierList(known...))
	var none *note.UnverifiedNoteError
	var wrong *note.InvalidSignatureError
	switch {
	case errors.As(err, &none):
		return Signed{}, fmt.Errorf("%w: its signatures are by %s", ErrUnsigned, names(s.Unknown))
	case errors.As(err, &wrong):
		return Signed{}, fmt.Errorf("%w: the signature of %s+%08x is wrong", ErrUnsigned, wrong.Name, wrong.Hash)
	case err != nil:
		return Signed{}, malformed("note", err.Error())
	}
	s.By, s.Unknown = signatures(n.Sigs), signatures(n.UnverifiedSigs)
	return s, nil
}

// Peek reads a signed checkpoint without checking any signature: it tells what a
// note claims and which keys it names, all of them among the Unknown.
func Peek(signed []byte) (Signed, error) {
	split := bytes.LastIndex(signed, []byte("\n\n"))
	if split < 0 || len(signed) > maxText || !plain(string(signed)) {
		return Signed{}, malformed("note", "a text, an empty line and signatures are expected")
	}
	c, err := ParseCheckpoint(string(signed[:split+1]))
	if err != nil {
		return Signed{}, err
	}
	s := Signed{Checkpoint: c, Note: bytes.Clone(signed)}
	again := []byte(c.Text() + "\n")
	for line := range strings.Lines(string(signed[split+2:])) {
		by, raw, ok := signatureLine(line)
		if !ok || len(s.Unknown) == maxSignatures || by.among(s.Unknown) {
			return Signed{}, malformed("note", "a line is no signature, or a second one of its key")
		}
		s.Unknown = append(s.Unknown, by)
		again = append(again, "— "+by.Name+" "+base64.StdEncoding.EncodeToString(raw)+"\n"...)
	}
	if len(s.Unknown) == 0 || !bytes.Equal(again, signed) {
		return Signed{}, malformed("note", "it reads otherwise when written anew")
	}
	return s, nil
}

// signatureLine takes one line apart: the key it names, and what base64 holds, of
// which the first four bytes are the key's id.
func signatureLine(line string) (by Signature, raw []byte, ok bool) {
	rest, dashed := strings.CutPrefix(line, "— ")
	name, b64, named := strings.Cut(strings.TrimSuffix(rest, "\n"), " ")
	raw, err := base64.StdEncoding.DecodeString(b64)
	if !dashed || !named || name == "" || err != nil || len(raw) < 5 {
		return Signature{}, nil, false
	}
	return Signature{Name: name, ID: binary.BigEndian.Uint32(raw)}, raw, true
}

func (s Signature) among(all []Signature) bool {
	for _, other := range all {
		if s == other {
			return true
		}
	}
	return false
}

func signatures(all []note.Signature) []Signature {
	var named []Signature
	for _, s := range all {
		named = append(named, Signature{Name: s.Name, ID: s.Hash})
	}
	return named
}

func names(all []Signature) string {
	var named []string
	for _, s := range all {
		named = append(named, s.String())
	}
	return strings.Join(named, ", ")
}
