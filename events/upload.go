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

// receive copies the body to the spool and compares its length with what the sender
// said. It returns the number of bytes.
func (u Upload) receive(spool spool, limit int64) (int64, error) {
	n, err := io.Copy(spool, io.LimitReader(u.Body, limit+1))
	var disk *fs.PathError
	switch {
	case errors.As(err, &disk): // the spool, not the sender
		return 0, fmt.Errorf("%w: receive file: %w", ErrUnavailable, err)
	case err != nil:
		return 0, fmt.Errorf("receive file: %w", err)
	case n > limit:
		return 0, fmt.Errorf("more than %d bytes: %w", limit, ErrTooLarge)
	case n == 0:
		return 0, levelling.Bad("bytes", "the file is empty: send it again")
	case u.Bytes >= 0 && n != u.Bytes:
		return 0, levelling.Bad("bytes", fmt.Sprintf("%d were announced and %d arrived: send the file again", u.Bytes, n))
	}
	return n, nil
}

// sniff compares the type of a received file with what the sender said.
func sniff(file io.ReaderAt, k Kept) error {
	head := make([]byte, min(k.Bytes, int64(sniffBytes(k.Type))))
	if _, err := file.ReadAt(head, 0); err != nil {
		return fmt.Errorf("%w: read received file: %w", ErrUnavailable, err)
	}
	if Sniff(head) != k.Media {
		return levelling.Bad("media_type", "the bytes are not "+k.Media+": send a JPEG, PNG or WebP photo, or a sound as WebM with Opus or MP4 with AAC")
	}
	return nil
}

// proven is a received file of which the digest is reckoned while it is on its way to
// the store. Whoever reads its last byte waits until the digest is right, and has an
// error where it is not: no store ever gets the whole of what is not the file.
type proven struct {
	file  io.ReaderAt
	last  int64 // where the last byte is
	done  chan struct{}
	wrong error // once it is done
}

// prove begins to reckon, and reads the file until Wait returns.
func prove(file io.ReaderAt, k Kept) *proven {
	p := &proven{file: file, last: k.Bytes - 1, done: make(chan struct{})}
	go func() {
		defer close(p.done)
		h := sha256.New()
		if _, err := io.Copy(h, io.NewSectionReader(file, 0, k.Bytes)); err != nil {
			p.wrong = fmt.Errorf("%w: read received file: %w", ErrUnavailable, err)
		} else if sum := Digest(h.Sum(nil)); sum != k.SHA256 {
			p.wrong = levelling.Bad("sha256", fmt.Sprintf("the bytes that arrived have %s: send the file again", sum))
		}
	}()
	return p
}

// ReadAt implements io.ReaderAt.
func (p *proven) ReadAt(b []byte, off int64) (int, error) {
	if off+int64(len(b)) > p.last {
		if err := p.Wait(); err != nil {
			return 0, err
		}
	}
	return p.file.ReadAt(b, off)
}

// Wait returns once the digest is known, with an InputError where it is another.
func (p *proven) Wait() error {
	<-p.done
	return p.wrong
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
