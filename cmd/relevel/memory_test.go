package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"net/http"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// What the memory of a server may grow by, and why. A heap may be twice what is in use
// before its garbage is collected.
const (
	uploadsAtOnce  = 50
	spoolMemory    = 32 << 20  // of all uploads that wait in memory (events, spoolRoomSize)
	uploadMemory   = 256 << 10 // of each, beside its bytes: buffers, stacks, hashes, two connections
	uploadsGrowth  = 2 * (spoolMemory + uploadsAtOnce*uploadMemory)
	largePixels    = 8064 * 6048            // what a phone calls 48 megapixels
	decoding       = 4*largePixels + 16<<20 // three bytes a pixel, one for the halves, and the file (server/pictures)
	picturesGrowth = uploadsGrowth + 2*decoding
)

// TestMemory sends fifty photos to the program at once, first as phones do whose signal
// goes away, then at full speed, and asks for the smaller sizes of the largest that a
// phone takes. Whatever the number of senders, memory keeps its bound.
func TestMemory(t *testing.T) {
	p, r := serveFirst(t, openFolder(t)+"/data")
	house, large := testPhoto(t, 4000, 3000), testPhoto(t, 8064, 6048)
	var all []testFile
	for n := range uploadsAtOnce {
		all = append(all, testFile{jpeg: house, size: []int{4 << 20, 4 << 20, 4 << 20, 4 << 20, 16 << 20}[n%5], number: byte(n)})
	}
	wantGrowth(t, p, uploadsGrowth, "photos at once", func() {
		signal, gone := context.WithCancel(t.Context())
		var held sync.WaitGroup
		held.Add(len(all))
		go func() { held.Wait(); gone() }()
		atOnce(all, func(f testFile) {
			body := &stalling{r: f.body(), left: f.size, at: held.Done, until: signal.Done()}
			if _, err := f.send(signal, r, body); err == nil {
				t.Error("a photo without its last byte was taken")
			}
		})
		atOnce(all, func(f testFile) {
			if _, err := f.send(t.Context(), r, f.body()); err != nil {
				t.Error(err)
			}
		})
	})
	some := append(all[:6:6], testFile{large, 8 << 20, 1}, testFile{large, 8 << 20, 2}, testFile{large, 8 << 20, 3})
	wantGrowth(t, p, picturesGrowth, "their smaller sizes", func() {
		atOnce(some, func(f testFile) {
			if err := f.look(t.Context(), r); err != nil {
				t.Error(err)
			}
		})
	})
}

// testFile is a photo of any length: what stands behind the end of a JPEG is not looked
// at, and makes another file of it.
type testFile struct {
	jpeg   []byte
	size   int
	number byte
}

// testPhoto is a JPEG with so many pixels.
func testPhoto(t *testing.T, width, height int) []byte {
	picture := image.NewYCbCr(image.Rect(0, 0, width, height), image.YCbCrSubsampleRatio420)
	for i := range picture.Y {
		picture.Y[i] = byte(i / width)
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, picture, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// body reads the file, which is nowhere whole.
func (f testFile) body() io.Reader {
	return io.MultiReader(bytes.NewReader(f.jpeg), io.LimitReader(zeros{}, int64(f.size-len(f.jpeg)-1)), bytes.NewReader([]byte{f.number}))
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// path is where the file is put and asked for.
func (f testFile) path() string {
	h := sha256.New()
	io.Copy(h, f.body())
	return fmt.Sprintf("/api/v1/photos/%x", h.Sum(nil))
}

// send puts the file and returns its path.
func (f testFile) send(ctx context.Context, r ready, body io.Reader) (string, error) {
	path := f.path()
	req, err := http.NewRequestWithContext(ctx, http.MethodPut, r.URL+path, body)
	if err != nil {
		return "", err
	}
	req.ContentLength = int64(f.size)
	req.Header.Set("Content-Type", "image/jpeg")
	return path, answered(req, r)
}

// look sends the file, which may be there, and asks for both of its smaller sizes.
func (f testFile) look(ctx context.Context, r ready) error {
	path, err := f.send(ctx, r, f.body())
	for _, size := range []string{"1600", "320"} {
		if err != nil {
			return err
		}
		var req *http.Request
		if req, err = http.NewRequestWithContext(ctx, http.MethodGet, r.URL+path+"?size="+size, nil); err == nil {
			err = answered(req, r)
		}
	}
	return err
}

// answered asks, reads the answer and wants it to be a good one.
func answered(req *http.Request, r ready) error {
	req.Header.Set("Authorization", "Bearer "+r.Token)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	if answer, err := io.ReadAll(resp.Body); err != nil || resp.StatusCode != http.StatusOK {
		return fmt.Errorf("%s %s is answered %s: %.200s, %v", req.Method, req.URL, resp.Status, answer, err)
	}
	return nil
}

func atOnce(all []testFile, do func(testFile)) {
	var done sync.WaitGroup
	for _, one := range all {
		done.Go(func() { do(one) })
	}
	done.Wait()
}

// stalling is a body whose last byte never comes.
type stalling struct {
	r     io.Reader
	left  int
	once  sync.Once
	at    func()
	until <-chan struct{}
}

func (s *stalling) Read(p []byte) (int, error) {
	if s.left == 1 {
		s.once.Do(s.at)
		<-s.until
		return 0, errors.New("no signal")
	}
	n, err := s.r.Read(p[:min(len(p), s.left-1)])
	s.left -= n
	return n, err
}

// wantGrowth does something and holds what memory grew by to a bound.
func wantGrowth(t *testing.T, p *process, most int64, what string, do func()) {
	t.Helper()
	grew := growth(t, p, do)
	t.Logf("%s took %d MiB of at most %d", what, grew>>20, most>>20)
	if grew > most {
		t.Errorf("%s took %d MiB, want at most %d", what, grew>>20, most>>20)
	}
}

// growth is by how many bytes the memory of a program, at its most while something is
// done, exceeds what it had before.
func growth(t *testing.T, p *process, do func()) int64 {
	t.Helper()
	files := "/proc/" + strconv.Itoa(p.cmd.Process.Pid)
	// 5 sets the most that was resident back to what is (proc(5), clear_refs).
	if err := os.WriteFile(files+"/clear_refs", []byte("5"), 0); err != nil {
		t.Fatal(err)
	}
	before := resident(t, files)
	do()
	return resident(t, files) - before
}

// resident is the most memory that a process had, in bytes.
func resident(t *testing.T, files string) int64 {
	t.Helper()
	status, err := os.ReadFile(files + "/status")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(status)) {
		if kib, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			n, err := strconv.ParseInt(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(kib), "kB")), 10, 64)
			if err != nil {
				t.Fatal(err)
			}
			return n << 10
		}
	}
	t.Fatal("this system does not tell how much memory a process had")
	return 0
}
