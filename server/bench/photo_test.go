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

// comparePhotosAtOnce is comparePhotos for so many clients, by what is stored in a second.
func comparePhotosAtOnce(t *testing.T, s *site, clients int, at tempo) figure {
	bare := newBareBucket(t, s)
	f := figure{name: fmt.Sprintf("photo-put-%d", clients)}
	var ours, byHand []run
	for range at.pairs {
		a := forAWhile(t, at.while, clients, func(n int) error { return s.putPhoto(photoOf(n)) })
		b := forAWhile(t, at.while, clients, func(n int) error { return bare.put(photoOf(n)) })
		ours, byHand = append(ours, a), append(byHand, b)
		f.ratios = append(f.ratios, a.perSecond/b.perSecond)
	}
	a, b := middle(ours), middle(byHand)
	f.told = fmt.Sprintf("%d clients: %.0f a second, p50 %v; bare minio-go %.0f a second, p50 %v; same store", clients, a.perSecond, short(a.p50), b.perSecond, short(b.p50))
	return f
}

// TestCompareThumbnail prints what it costs to make a photo of 12 MP smaller, in the
// processors' time, beside vipsthumbnail: each size from the photo, the small one from
// the large one, as it is made where that is kept, and both sizes of one photo.
func TestCompareThumbnail(t *testing.T) {
	photo := large(t)
	at := filepath.Join(t.TempDir(), "photo.jpg")
	must(t, os.WriteFile(at, photo, 0o644))
	m := pictures.NewMaker(0)
	make := func(from []byte, size events.Size) (made []byte, took time.Duration) {
		took = busy(t, func() {
			var err error
			made, err = m.Derive(t.Context(), bytes.NewReader(from), size)
			must(t, err)
		})
		return made, took
	}
	var ours, theirs [4][]time.Duration
	for range thorough.pairs {
		kept, toLarge := make(photo, events.Large)
		_, toSmall := make(photo, events.Small)
		_, fromKept := make(kept, events.Small)
		large, small := vipsthumbnail(t, at, events.Large), vipsthumbnail(t, at, events.Small)
		for i, pair := range [][2]time.Duration{{toLarge, large}, {toSmall, small}, {fromKept, small}, {toLarge + fromKept, large + small}} {
			ours[i], theirs[i] = append(ours[i], pair[0]), append(theirs[i], pair[1])
		}
	}
	for i, name := range []string{"photo-large", "photo-small", "photo-small-kept", "photo-thumbs"} {
		f := figure{name: name}
		for n := range ours[i] {
			f.ratios = append(f.ratios, float64(theirs[i][n])/float64(ours[i][n]))
		}
		f.told = fmt.Sprintf("%s: %v; vipsthumbnail, process and all, %v; both in processors' time", thumbnails[name], short(quantile(ours[i], 0.5)), short(quantile(theirs[i], 0.5)))
		f.print()
	}
}

// thumbnails says what the lines are about.
var thumbnails = map[string]string{
	"photo-large":      "1600 px of a photo of 12 MP",
	"photo-small":      "320 px of it alone",
	"photo-small-kept": "320 px of it, from the 1600 px that are kept",
	"photo-thumbs":     "both sizes of it, the small one from the large one",
}

// vipsthumbnail has that program make a size and tells how long processors were busy.
func vipsthumbnail(t *testing.T, photo string, size events.Size) time.Duration {
	c := exec.Command("vipsthumbnail", photo, "--size", fmt.Sprint(size), "-o", "small.jpg[Q=82]")
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("vipsthumbnail: %v\n%s", err, out)
	}
	return c.ProcessState.UserTime() + c.ProcessState.SystemTime()
}
