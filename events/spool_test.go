package events

import (
	"bytes"
	"io"
	"os"
	"testing"
)

// Small uploads wait in memory as long as there is room, the others on disk; whatever
// the place, what was written is what is read.
func TestSpool(t *testing.T) {
	p := &Photos{Spool: t.TempDir()}
	open := func(size int64, inMemory bool) spool {
		t.Helper()
		s, err := p.newSpool(size)
		if err != nil {
			t.Fatal(err)
		}
		if _, onDisk := s.(*os.File); onDisk == inMemory {
			t.Errorf("an upload of %d bytes is on disk: %t", size, onDisk)
		}
		wrote := bytes.Repeat([]byte("abc"), 100)
		s.Write(wrote[:200])
		s.Write(wrote[200:])
		read, err := io.ReadAll(io.NewSectionReader(s, 1, 298))
		if err != nil || !bytes.Equal(read, wrote[1:299]) {
			t.Errorf("%v: %q", err, read)
		}
		return s
	}
	open(-1, false).Close()
	open(spoolInMemory+1, false).Close()
	for range 2 { // the second time finds the room that the first gave back
		var all []spool
		for range spoolRoomSize / spoolInMemory {
			all = append(all, open(spoolInMemory, true))
		}
		all = append(all, open(1, false))
		for _, s := range all {
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		}
	}
	if left, err := os.ReadDir(p.Spool); err != nil || len(left) != 0 {
		t.Errorf("the folder holds %v, %v", left, err)
	}
}

// An upload that is longer than it was said to be takes no more memory than that.
func TestSpoolHoldsNoMoreThanAnnounced(t *testing.T) {
	p := &Photos{Spool: t.TempDir()}
	for name, fill := range map[string]func(spool) (int64, error){
		"written": func(s spool) (int64, error) { n, err := s.Write(make([]byte, 300)); return int64(n), err },
		"copied":  func(s spool) (int64, error) { return io.Copy(s, io.LimitReader(zeros{}, 300)) },
	} {
		s, err := p.newSpool(200)
		if err != nil {
			t.Fatal(err)
		}
		if n, err := fill(s); n != 300 || err != nil {
			t.Errorf("%s: %d, %v; want all 300 counted", name, n, err)
		}
		if held := len(s.(*memorySpool).b); held != 200 {
			t.Errorf("%s: it holds %d bytes, want the 200 that have room", name, held)
		}
		s.Close()
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { return len(p), nil }
