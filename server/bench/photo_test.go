//go:build bench

package bench

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"relevel/events"
	"relevel/server/pictures"
)

// comparePhotos puts photos of 1 MB over HTTP, each checked, recorded and looked at
// again in the store, and by the client library alone into the same store.
func comparePhotos(t *testing.T, s *site, at tempo) figure {
	bare := newBareBucket(t, s)
	f := figure{name: "photo-put"}
	var ours, byHand []time.Duration
	for n := range at.pairs * 4 {
		photo := photoOf(n)
		a := timed(t, func() error { return s.putPhoto(photo) })
		b := timed(t, func() error { return bare.put(photo) })
		ours, byHand = append(ours, a), append(byHand, b)
		f.ratios = append(f.ratios, float64(b)/float64(a))
	}
	f.told = fmt.Sprintf("1 MB over HTTP p50 %v; bare minio-go PutObject p50 %v; same store", short(quantile(ours, 0.5)), short(quantile(byHand, 0.5)))
	return f
}

// TestCompareThumbnail prints what it costs to make a photo of 12 MP smaller, in the
// processors' time, beside vipsthumbnail: from the photo, and the small size from the
// large one where that is kept.
func TestCompareThumbnail(t *testing.T) {
	photo := large(t)
	at := filepath.Join(t.TempDir(), "photo.jpg")
	must(t, os.WriteFile(at, photo, 0o644))
	m := pictures.NewMaker(0)
	var kept []byte
	for _, c := range []struct {
		name string
		from []byte
		size events.Size
	}{{"photo-large", photo, events.Large}, {"photo-small", photo, events.Small}, {"photo-small-kept", nil, events.Small}} {
		from := c.from
		if from == nil {
			from = kept
		}
		f := figure{name: c.name}
		var ours, theirs []time.Duration
		for range thorough.pairs {
			ours = append(ours, busy(t, func() {
				made, err := m.Derive(t.Context(), bytes.NewReader(from), c.size)
				must(t, err)
				if c.size == events.Large {
					kept = made
				}
			}))
			theirs = append(theirs, vipsthumbnail(t, at, c.size))
			f.ratios = append(f.ratios, float64(theirs[len(theirs)-1])/float64(ours[len(ours)-1]))
		}
		f.told = fmt.Sprintf("%d px of a photo of 12 MP: %v; vipsthumbnail, process and all, %v; both in processors' time", c.size, short(quantile(ours, 0.5)), short(quantile(theirs, 0.5)))
		f.print()
	}
}

// vipsthumbnail has that program make a size and tells how long processors were busy.
func vipsthumbnail(t *testing.T, photo string, size events.Size) time.Duration {
	c := exec.Command("vipsthumbnail", photo, "--size", fmt.Sprint(size), "-o", "small.jpg[Q=82]")
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("vipsthumbnail: %v\n%s", err, out)
	}
	return c.ProcessState.UserTime() + c.ProcessState.SystemTime()
}
