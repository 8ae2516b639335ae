package events

import (
	"context"
	"iter"
	"strings"
	"time"
)

// Lister is an Objects that can be looked over as a whole.
type Lister interface {
	Objects

	// List goes over everything that is there, in no order that means anything.
	// What comes or goes meanwhile may be among it or not. An error ends it, and
	// is ErrUnavailable where the store is away.
	List(ctx context.Context) iter.Seq2[Listed, error]
}

// Listed is one thing in a store.
type Listed struct {
	Name  string // as the store has it
	Key   Key    // zero of what is no object of ours
	Bytes int64
	At    time.Time // when it was put there, by the store's clock
}

// ParseKey reads a key's text, "firm/name".
func ParseKey(s string) (Key, bool) {
	firm, name, _ := strings.Cut(s, "/")
	digest, suffix, _ := strings.Cut(name, "-")
	var k Key
	var err error
	if k.Firm, err = ParseID(firm); err != nil {
		return Key{}, false
	}
	if k.SHA256, err = ParseDigest(digest); err != nil {
		return Key{}, false
	}
	switch suffix {
	case "320":
		k.Size = Small
	case "1600":
		k.Size = Large
	case "made":
		k.Size = Made
	}
	return k, k.String() == s // one form alone is ours
}
