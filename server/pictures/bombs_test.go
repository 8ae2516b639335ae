package pictures_test

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"relevel/events"
	"relevel/server/pictures"
)

// bombEnv makes this test binary a process that decodes one bomb and ends.
const bombEnv = "RELEVEL_TEST_BOMB"

// What one file may cost at most, however it is made: the pixels that are allowed, their
// halves, and what the runtime holds beside them.
const (
	mostResident = 448 << 20
	mostCPU      = 60 * time.Second
)

// bombs are files that are small on the way and large to whoever opens them.
var bombs = map[string]func(*testing.T) []byte{
	"png that declares 10^9 pixels": func(t *testing.T) []byte { return pngRaw(t, 31623, 31623, 1, 0, 0) },
	"png of 49 million grays":       func(t *testing.T) []byte { return pngRaw(t, 7000, 7000, 8, 0, 7000*7001) },
	"png of 64 bits a pixel":        func(t *testing.T) []byte { return pngRaw(t, 5900, 5900, 16, 6, 5900*(5900*8+1)) },
	"png of 32 bits, interlaced":    func(t *testing.T) []byte { return interlaced(pngRaw(t, 6700, 6700, 8, 6, 6700*6700*4+6700*15/8*2)) },
	"png of 64 bits, interlaced":    func(t *testing.T) []byte { return interlaced(pngRaw(t, 5900, 5900, 16, 6, 5900*5900*8+5900*4)) },
	"png with much text":            func(t *testing.T) []byte { return withChunk(t, "zTXt", "Raw profile type exif\x00\x00") },
	"png with much colour":          func(t *testing.T) []byte { return withChunk(t, "iCCP", "icc\x00\x00") },
	"png with many notes":           func(t *testing.T) []byte { return withChunk(t, "iTXt", "XML:com.adobe.xmp\x00\x01\x00\x00\x00") },
	"png with more than it says":    func(t *testing.T) []byte { return pngRaw(t, 10, 10, 8, 0, 1<<28) },
	"jpeg of 100 scans":             func(*testing.T) []byte { return progressiveJPEG(4000, 4000, 99) },
	"jpeg of notes in a ring":       func(t *testing.T) []byte { return withEXIF(jpegOf(t, corners(40, 20)), ringOfNotes()) },
	"jpeg of 65 000 notes":          func(t *testing.T) []byte { return withEXIF(jpegOf(t, corners(40, 20)), manyNotes()) },
	"jpeg of two minds on colour":   func(*testing.T) []byte { return adobeJPEG(3199, 3120) },
	"jpeg of two frames":            func(*testing.T) []byte { return twiceFramed(3199, 3120) },
	"jpeg of 700 000 restarts":      func(*testing.T) []byte { return restartedJPEG(9000, 5000) },
	"webp of 49 million pixels":     func(*testing.T) []byte { return webpOf(7000, 7000) },
	"webp of 10 000 frames":         func(*testing.T) []byte { return animated(10_000) },
}

// Each bomb is decoded in a process of its own, whose memory and time are then known for
// certain.
func TestBombs(t *testing.T) {
	if name := os.Getenv(bombEnv); name != "" {
		explode(t, bombs[name](t))
		return
	}
	for name := range bombs {
		t.Run(name, func(t *testing.T) {
			run := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestBombs$", "-test.v")
			run.Env = append(os.Environ(), bombEnv+"="+name)
			out, err := run.CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			used, ok := run.ProcessState.SysUsage().(*syscall.Rusage)
			if !ok {
				t.Fatal("this system does not tell what a process took")
			}
			resident, took := used.Maxrss<<10, run.ProcessState.UserTime()
			if resident > mostResident || took > mostCPU {
				t.Errorf("it took %d MiB and %v", resident>>20, took)
			}
			_, said, _ := strings.Cut(string(out), "it is ")
			t.Logf("%d MiB, %v: %s", resident>>20, took.Round(time.Millisecond), strings.SplitN(said, "\n", 2)[0])
		})
	}
}

// explode makes a bomb smaller as a server would.
func explode(t *testing.T, bomb []byte) {
	t.Helper()
	if len(bomb) > events.MaxPhotoBytes {
		t.Fatalf("%d bytes would be refused at the door", len(bomb))
	}
	out, err := pictures.NewMaker(0).Derive(t.Context(), bytes.NewReader(bomb), events.Small)
	if err != nil && !errors.Is(err, pictures.ErrUnreadable) {
		t.Error(err)
	}
	fmt.Printf("it is %d bytes and becomes %d: %v\n", len(bomb), len(out), err)
}

// zeros is so many bytes of nothing, packed.
func zeros(t *testing.T, n int) []byte {
	t.Helper()
	var b bytes.Buffer
	w, err := zlib.NewWriterLevel(&b, zlib.BestSpeed)
	if err == nil {
		_, err = io.CopyN(w, nothing{}, int64(n))
	}
	if err != nil || w.Close() != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

type nothing struct{}

func (nothing) Read(b []byte) (int, error) { clear(b); return len(b), nil }

// pngRaw is a PNG of one colour that holds so many bytes of unpacked pixels, whatever its
// header says.
func pngRaw(t *testing.T, width, height uint32, depth, colour byte, n int) []byte {
	t.Helper()
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, width), height)
	b := append([]byte("\x89PNG\r\n\x1a\n"), pngChunk("IHDR", append(head, depth, colour, 0, 0, 0))...)
	b = append(b, pngChunk("IDAT", zeros(t, n))...)
	return append(b, pngChunk("IEND", nil)...)
}

// interlaced says of a PNG that its pixels come in seven passes.
func interlaced(png []byte) []byte {
	const at = 8 + 8 + 12
	png[at] = 1
	binary.BigEndian.PutUint32(png[at+1:], crc32.ChecksumIEEE(png[12:at+1]))
	return png
}

// withChunk puts a quarter of a gigabyte, packed, behind the header of a small PNG.
func withChunk(t *testing.T, kind, heading string) []byte {
	t.Helper()
	small := pngOf(t, corners(40, 20))
	const header = 8 + 12 + 13
	b := append(bytes.Clone(small[:header]), pngChunk(kind, append([]byte(heading), zeros(t, 1<<28)...))...)
	return append(b, small[header:]...)
}

// ringOfNotes is EXIF in which one directory leads to the next and that to the first.
func ringOfNotes() []byte {
	b := []byte("Exif\x00\x00MM\x00*\x00\x00\x00\x08")
	for range 2 {
		b = append(b, 0, 2)
		b = appendTag(b, 0x8769, 4, 1, 8) // a directory below: the first
		b = appendTag(b, 0x8825, 4, 1, 8)
		b = append(b, 0, 0, 0, 8)
	}
	return b
}

// manyNotes is EXIF whose directory has as many entries as a segment holds, each of which
// says that it has four gigabytes.
func manyNotes() []byte {
	const entries = 5400
	b := binary.BigEndian.AppendUint16([]byte("Exif\x00\x00MM\x00*\x00\x00\x00\x08"), entries)
	for i := range uint16(entries) {
		b = appendTag(b, i, 2, 1<<32-1, 8)
	}
	return append(b, 0, 0, 0, 8)
}

// adobeJPEG says JFIF, by which its colours are brightness and two more, and Adobe 0, by
// which they are red, green and blue.
func adobeJPEG(width, height int) []byte {
	b := baselineJPEG(width, height, 1)
	heads := segment(0xe0, 'J', 'F', 'I', 'F', 0, 1, 1, 0, 0, 1, 0, 1, 0, 0)
	heads = append(heads, segment(0xee, 'A', 'd', 'o', 'b', 'e', 0, 100, 0, 0, 0, 0, 0)...)
	return append(append(b[:2:2], heads...), b[2:]...)
}

// twiceFramed has a frame that no camera writes, its scan, and then a frame as usual.
func twiceFramed(width, height int) []byte {
	b := baselineJPEG(width, height, 2)
	at := bytes.Index(b, []byte{0xff, 0xc0})
	usual := bytes.Clone(b[at : at+2+8+9])
	b[at+1], b[at+14], b[at+17] = 0xc1, 0x21, 0x21
	b = append(b[:len(b)-2], zeroBits(800_000)...)
	return append(append(b, usual...), 0xff, 0xd9)
}

// restartedJPEG has a restart behind each block, and no block that is whole.
func restartedJPEG(width, height int) []byte {
	b := jpegHead(0xc0, width, height, 1)
	b = append(b, segment(0xdd, 0, 1)...)
	b = append(b, segment(0xda, 3, 1, 0, 2, 0, 3, 0, 0, 63, 0)...)
	for i := range up(width, 8) * up(height, 8) {
		b = append(b, 0xfe, 0xfe, 0xfe, 0xfe, 0xff, byte(0xd0+i%8))
	}
	return append(b, 0xff, 0xd9)
}

// animated is a WebP of so many frames on the largest canvas that there can be.
func animated(frames int) []byte {
	head := make([]byte, 10)
	head[0] = 0x02 // animation
	for i := range 6 {
		head[4+i] = 0xff
	}
	frame := append(make([]byte, 16), riffChunk("VP8L", lossless(16383, 16383))...)
	chunks := [][]byte{riffChunk("VP8X", head), riffChunk("ANIM", make([]byte, 6))}
	for range frames {
		chunks = append(chunks, riffChunk("ANMF", frame))
	}
	return riff(chunks...)
}
