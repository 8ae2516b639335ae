package events

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"time"

	"relevel/levelling"
)

// entry checks what an upload says of itself, before its body is read.
func (u Upload) entry() (Kept, error) {
	kind, media := typeOfMedia(u.Media)
	k := Kept{
		Firm: u.Firm, SHA256: u.SHA256, Type: kind, Bytes: u.Bytes, Media: media,
		State: FileReceived, At: u.At.UTC().Truncate(time.Millisecond),
	}
	switch {
	case u.SHA256.IsZero():
		return k, levelling.Bad("sha256", "missing: the SHA-256 of the file, 64 hexadecimal digits")
	case kind == "":
		return k, levelling.Bad("media_type", "a photo as image/jpeg, image/png or image/webp, or a sound as audio/webm or audio/mp4")
	case u.Bytes > maxBytes(kind):
		return k, fmt.Errorf("a %s of %d bytes: %w", kind, u.Bytes, ErrTooLarge)
	case u.Bytes == 0:
		return k, levelling.Bad("bytes", "the file is empty: send it again")
	}
	return k, nil
}

func maxBytes(t FileType) int64 {
	if t == Sound {
		return MaxSoundBytes
	}
	return MaxPhotoBytes
}

// check copies the body to the spool, measures and hashes it on the way, and
// compares it with what the sender said. It returns the number of bytes.
func (u Upload) check(spool spool, k Kept) (int64, error) {
	n, sum, err := u.read(spool, maxBytes(k.Type))
	if err != nil {
		return 0, err
	}
	if err := u.match(n, sum); err != nil {
		return 0, err
	}
	head := make([]byte, min(n, int64(sniffBytes(k.Type))))
	if _, err := spool.ReadAt(head, 0); err != nil {
		return 0, fmt.Errorf("read received file: %w", err)
	}
	if Sniff(head) != k.Media {
		return 0, levelling.Bad("media_type", "the bytes are not "+k.Media+": send a JPEG, PNG or WebP photo, or a sound as WebM with Opus or MP4 with AAC")
	}
	return n, nil
}

// compare checks a file that is kept already, so that a wrong upload is told so
// even when it changes nothing.
func (u Upload) compare(known Kept) error {
	n, sum, err := u.read(io.Discard, maxBytes(known.Type))
	if err != nil {
		return err
	}
	return u.match(n, sum)
}

func (u Upload) read(to io.Writer, limit int64) (int64, Digest, error) {
	h := sha256.New()
	n, err := io.Copy(io.MultiWriter(to, h), io.LimitReader(u.Body, limit+1))
	var disk *fs.PathError
	if errors.As(err, &disk) { // the spool, not the sender
		return 0, Digest{}, fmt.Errorf("%w: receive file: %w", ErrUnavailable, err)
	}
	if err != nil {
		return 0, Digest{}, fmt.Errorf("receive file: %w", err)
	}
	if n > limit {
		return 0, Digest{}, fmt.Errorf("more than %d bytes: %w", limit, ErrTooLarge)
	}
	return n, Digest(h.Sum(nil)), nil
}

func (u Upload) match(n int64, sum Digest) error {
	switch {
	case n == 0:
		return levelling.Bad("bytes", "the file is empty: send it again")
	case u.Bytes >= 0 && n != u.Bytes:
		return levelling.Bad("bytes", fmt.Sprintf("%d were announced and %d arrived: send the file again", u.Bytes, n))
	case sum != u.SHA256:
		return levelling.Bad("sha256", fmt.Sprintf("the bytes that arrived have %s: send the file again", sum))
	}
	return nil
}

// sniffBytes is how much of a file Sniff has to see.
func sniffBytes(t FileType) int {
	if t == Sound {
		return MaxSoundBytes
	}
	return 16
}

// verifier hashes what is read through it and tells at the end whether it was
// the file it should be.
type verifier struct {
	body io.ReadCloser
	hash hash.Hash
	want Digest
}

func (v *verifier) Read(p []byte) (int, error) {
	n, err := v.body.Read(p)
	v.hash.Write(p[:n])
	if err == io.EOF && Digest(v.hash.Sum(nil)) != v.want {
		err = fmt.Errorf("%w: %s reads as %s", ErrDamaged, v.want, Digest(v.hash.Sum(nil)))
	}
	return n, err
}

func (v *verifier) Close() error { return v.body.Close() }
