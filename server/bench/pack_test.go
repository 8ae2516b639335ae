//go:build bench

package bench

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"regexp"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
)

// What a pack is measured with, and what it may take: as much memory over that of the
// idle server as the largest photo being decoded takes, and a little.
const (
	packPairs  = 100
	packMemory = 200 << 20
)

// TestComparePack prints what a pack of 200 photos costs: the first one, for which the
// server has still to make the smaller sizes of the photos, and the next, which finds
// them. The ratio is the memory that it may take to what it took over the idle server.
func TestComparePack(t *testing.T) {
	s := start(t)
	j := s.photographed(t, packPairs)
	fmt.Printf("A pack of %d photos of 12 MP. The ratio is %d MiB to what it took: above 1 it is kept.\n", 2*packPairs, packMemory>>20)
	for _, name := range []string{"A4", "Letter"} {
		idle := resident(t)
		peak := watch(t)
		began, busy := time.Now(), processor(t)
		size, pages := s.packed(t, j, name)
		took, busy := time.Since(began), processor(t)-busy
		over := max(peak()-idle, 1)
		fmt.Printf("pack-%-6s         %5.2f   %v, %v of a processor; %d MiB over the idle server; %d pages, %.1f MB\n",
			name, float64(packMemory)/float64(over), took.Round(100*time.Millisecond), busy.Round(100*time.Millisecond), over>>20, pages, float64(size)/1e6)
	}
}

// photographed is a job with pairs of photos, each of another thing.
func (s *site) photographed(t *testing.T, pairs int) *job {
	j := s.newJob(t)
	photo := large(t)
	for i := range pairs {
		for n, stage := range []events.Stage{events.Before, events.After} {
			one := fmt.Appendf(bytes.Clone(photo), "%d %d", i, n) // behind the end: other bytes, the same picture
			must(t, s.putPhoto(one))
			sum := sha256.Sum256(one)
			raw := s.event(j, events.KindNote, events.Note{Text: fmt.Sprint(stage)})
			files := fmt.Sprintf(`,"files":[{"type":"photo","sha256":"%s","bytes":%d,"media_type":"image/jpeg","subject":"place %d","stage":"%s","taken_at":"%s"}]}`,
				hex.EncodeToString(sum[:]), len(one), i, stage, time.Now().UTC().Format(time.RFC3339))
			must(t, s.post(j, []json.RawMessage{json.RawMessage(string(raw[:len(raw)-1]) + files)}))
		}
	}
	return j
}

// large is a photo as cameras make it, 12 MP.
func large(t *testing.T) []byte {
	m := colourless(4000, 3000)
	random := rand.New(rand.NewPCG(1, 2))
	for i := range m.Y {
		m.Y[i] = byte(i/4000/12 + random.IntN(24))
	}
	var b bytes.Buffer
	must(t, jpeg.Encode(&b, m, &jpeg.Options{Quality: 85}))
	return b.Bytes()
}

// colourless is a black picture as phones keep colour. Without neutral colour it would be
// of a green that no camera gives, which is taken for damage.
func colourless(width, height int) *image.YCbCr {
	m := image.NewYCbCr(image.Rect(0, 0, width, height), image.YCbCrSubsampleRatio420)
	for i := range m.Cb {
		m.Cb[i], m.Cr[i] = 128, 128
	}
	return m
}

var packRow = regexp.MustCompile(`packs/([0-9a-f-]+)">[^<]*<span class="past">for (\w+),[^<]*</span></a> <span class="note">[^,]*, (\d+) pages`)

// packed asks for a pack, waits for it and takes it away.
func (s *site) packed(t *testing.T, j *job, paper string) (size, pages int) {
	base := "/jobs/" + j.id.String()
	_, err := s.do("POST", base+"/pack", "application/x-www-form-urlencoded", []byte("paper="+paper))
	must(t, err)
	for end := time.Now().Add(10 * time.Minute); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		for _, row := range packRow.FindAllStringSubmatch(string(unpacked(t, s.page(t, base+"/pack"))), -1) {
			if row[2] == paper {
				pages, _ = strconv.Atoi(row[3])
				return len(s.page(t, base+"/packs/"+row[1])), pages
			}
		}
	}
	t.Fatal("no pack in ten minutes")
	return 0, 0
}

// resident is the memory that this process has.
func resident(t *testing.T) int64 {
	status, err := os.ReadFile("/proc/self/statm")
	must(t, err)
	var all, here int64
	_, err = fmt.Sscan(string(status), &all, &here)
	must(t, err)
	return here * int64(os.Getpagesize())
}

// watch looks again and again how much memory this process has, until it is asked for
// the most.
func watch(t *testing.T) (peak func() int64) {
	var most atomic.Int64
	done := make(chan struct{})
	go func() {
		for {
			most.Store(max(most.Load(), resident(t)))
			select {
			case <-done:
				return
			case <-time.After(5 * time.Millisecond):
			}
		}
	}()
	return func() int64 { close(done); return most.Load() }
}
