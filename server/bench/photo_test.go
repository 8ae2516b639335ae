//go:build bench

package bench

import (
	"fmt"
	"testing"
	"time"
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
