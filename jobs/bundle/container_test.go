package bundle_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"testing"

	"relevel/jobs/bundle"
)

// The records beyond 32 bits, from PKWARE's APPNOTE 6.3 sections 4.3.14 to 4.3.16:
// marks, sizes and where each figure stands.
func TestWideEnd(t *testing.T) {
	plain := bundle.End(3, 1000, 200)
	if len(plain) != 22 || binary.LittleEndian.Uint16(plain[10:]) != 3 || binary.LittleEndian.Uint32(plain[16:]) != 1000 {
		t.Errorf("%x", plain)
	}
	for name, end := range map[string][]byte{"Entries": bundle.End(70_000, 1000, 200), "Offset": bundle.End(3, 5<<30, 200)} {
		if len(end) != 56+20+22 || binary.LittleEndian.Uint32(end) != 0x06064b50 || binary.LittleEndian.Uint64(end[4:]) != 44 || binary.LittleEndian.Uint32(end[56:]) != 0x07064b50 {
			t.Errorf("%s: %x", name, end)
		}
	}
	wide := bundle.End(3, 5<<30, 200)
	if binary.LittleEndian.Uint64(wide[48:]) != 5<<30 || binary.LittleEndian.Uint64(wide[64:]) != 5<<30+200 || binary.LittleEndian.Uint32(wide[76+16:]) != math.MaxUint32 {
		t.Errorf("%x", wide)
	}
}

// Another program reads more entries than 16 bits count, and so do we.
func TestManyEntries(t *testing.T) {
	s := newSite(t)
	s.sign()
	data := s.bundle()
	many := rezipped(t, data, func(names []string, content map[string][]byte) []string {
		for range math.MaxUint16 {
			names = append(names, "README.txt")
		}
		return names
	})
	z, err := zip.NewReader(bytes.NewReader(many), int64(len(many)))
	must(t, err)
	if len(z.File) <= math.MaxUint16 {
		t.Errorf("%d entries", len(z.File))
	}
	if err := found(many, "README.txt"); err != nil {
		t.Error(err)
	}
}

// An entry that lies beyond 4 GiB is found there by another program.
func TestFarEntry(t *testing.T) {
	const far = 5 << 30
	tail := bundle.PackFrom(far, "far.txt", []byte("far"))
	z, err := zip.NewReader(farReader{far, tail}, far+int64(len(tail)))
	must(t, err)
	in, err := z.File[0].Open()
	must(t, err)
	if text, err := io.ReadAll(in); err != nil || string(text) != "far" {
		t.Errorf("%q, %v", text, err)
	}
}

// farReader is a file of nothing but its tail.
type farReader struct {
	far  int64
	tail []byte
}

func (f farReader) ReadAt(b []byte, at int64) (int, error) {
	clear(b)
	if at >= f.far {
		return bytes.NewReader(f.tail).ReadAt(b, at-f.far)
	}
	if over := at + int64(len(b)) - f.far; over > 0 {
		copy(b[int64(len(b))-over:], f.tail)
	}
	return len(b), nil
}
