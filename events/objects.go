package events

import (
	"context"
	"io"

	"relevel/levelling"
)

// Objects is the raw capability of keeping photos and sound notes. Nothing
// outside Photos calls Put: that is where size, digest and type are checked.
//
// Durability. When Put returns without an error the whole body can be read back
// under its key, by everybody. If Durable is true it also survives the loss of
// power from that moment on; otherwise that is only known once the body was
// read back later.
//
// Atomicity. A reader sees a whole body or none, never a part of one, and while
// a key is being replaced it sees the old body or the new one. When Put returns
// an error, also one of the body's own, the key holds the whole new body
// or what it held before.
//
// Repeats. Putting a key again replaces what it holds; deleting a key that
// holds nothing is no error. So every call can be repeated without harm.
//
// Errors. A key that holds nothing is ErrNotFound. A store that is away, full,
// too slow or refuses us is ErrUnavailable. An error of the body's own is passed
// on, and a context that has ended gives the context's error.
//
// Concurrency. All methods may be called from many goroutines at once.
type Objects interface {
	// Put stores the first o.Bytes bytes of body. It may read them more than
	// once, and leaves the body alone when it returns. It reports whether the
	// store answered with the digest of what it holds now: where it did not,
	// that it took the body is all that is known.
	Put(ctx context.Context, o Object, body io.ReaderAt) (told bool, err error)

	// Open returns the body and its size. The caller closes it. The context
	// governs the reading as well.
	Open(ctx context.Context, key Key) (body io.ReadCloser, size int64, err error)

	// Stat returns the size of what a key holds.
	Stat(ctx context.Context, key Key) (size int64, err error)

	// Delete removes what a key holds.
	Delete(ctx context.Context, key Key) error

	// Durable reports whether what Put acknowledged survives the loss of power.
	Durable() bool
}

// Object describes what is put into a store.
type Object struct {
	Key    Key
	Bytes  int64
	SHA256 Digest // of the body; for a derived size it is not the key's digest
	Media  string
}

// Key names one object: whose it is, the digest of the file as it was sent, and
// which size of it. It is a type of its own so that no caller's text ever
// becomes a path.
type Key struct {
	Firm   ID
	SHA256 Digest
	Size   Size
}

// Size is one of the sizes in which a photo is kept. Its value is the long edge
// in pixels.
type Size int

// The sizes of a photo.
const (
	Original Size = 0
	Small    Size = 320
	Large    Size = 1600
)

// ParseSize reads a size as it stands in an address: "" is the original.
func ParseSize(s string) (Size, error) {
	switch s {
	case "":
		return Original, nil
	case "320":
		return Small, nil
	case "1600":
		return Large, nil
	}
	return 0, levelling.Bad("size", "320 or 1600, or left out for the original")
}

// Name is the last part of the key's text: the digest, with the size behind a
// dash. It is not a slash because a store over a file system cannot keep both
// "a" and "a/320".
func (k Key) Name() string {
	switch k.Size {
	case Small:
		return k.SHA256.String() + "-320"
	case Large:
		return k.SHA256.String() + "-1600"
	case Made:
		return k.SHA256.String() + "-made"
	}
	return k.SHA256.String()
}

// String is the key's text: the firm, a slash and the name.
func (k Key) String() string { return k.Firm.String() + "/" + k.Name() }
