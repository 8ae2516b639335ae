package events

import (
	"encoding/hex"
	"fmt"
	"io"
	"time"
)

// ID is a 16-byte identifier made by whoever creates the thing it names. New
// ones are UUIDs of version 7, so that they sort roughly by age in an index,
// but nothing in this program decides an order by them.
type ID [16]byte

// NewID makes a version 7 UUID from a time and a source of randomness.
// The only error is that of the source.
func NewID(at time.Time, random io.Reader) (ID, error) {
	var id ID
	if _, err := io.ReadFull(random, id[6:]); err != nil {
		return ID{}, fmt.Errorf("make an id: %w", err)
	}
	ms := uint64(at.UnixMilli())
	for i := 5; i >= 0; i-- {
		id[i] = byte(ms)
		ms >>= 8
	}
	id[6] = id[6]&0x0f | 0x70
	id[8] = id[8]&0x3f | 0x80
	return id, nil
}

// groupsAt is where the groups of digits of an id begin without what stands between them.
var groupsAt = [...]int{0, 8, 12, 16, 20}

// ParseID reads the usual text form, 8-4-4-4-12 hexadecimal digits. Upper case
// is read too; it is always written in lower case.
func ParseID(s string) (ID, error) {
	var id ID
	if len(s) != 36 || s[8] != '-' || s[13] != '-' || s[18] != '-' || s[23] != '-' {
		return ID{}, fmt.Errorf("%.40q is not an id: it takes 8-4-4-4-12 hexadecimal digits", s)
	}
	var flat [32]byte
	for i, part := range [...]string{s[0:8], s[9:13], s[14:18], s[19:23], s[24:]} {
		copy(flat[groupsAt[i]:], part)
	}
	if _, err := hex.Decode(id[:], flat[:]); err != nil {
		return ID{}, fmt.Errorf("%.40q is not an id: it takes 8-4-4-4-12 hexadecimal digits", s)
	}
	return id, nil
}

// IsZero reports whether the id is the zero value, which names nothing.
func (id ID) IsZero() bool { return id == ID{} }

func (id ID) String() string {
	text := id.text()
	return string(text[:])
}

func (id ID) text() (b [36]byte) {
	hex.Encode(b[0:8], id[0:4])
	hex.Encode(b[9:13], id[4:6])
	hex.Encode(b[14:18], id[6:8])
	hex.Encode(b[19:23], id[8:10])
	hex.Encode(b[24:36], id[10:16])
	b[8], b[13], b[18], b[23] = '-', '-', '-', '-'
	return b
}

// MarshalText writes the text form; the zero id is written as an empty string.
func (id ID) MarshalText() ([]byte, error) {
	if id.IsZero() {
		return []byte{}, nil
	}
	text := id.text()
	return text[:], nil
}

// UnmarshalText reads the text form; an empty string is the zero id.
func (id *ID) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*id = ID{}
		return nil
	}
	parsed, err := ParseID(string(text))
	if err != nil {
		return err
	}
	*id = parsed
	return nil
}
