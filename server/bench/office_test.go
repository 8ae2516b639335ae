//go:build bench

package bench

import (
	"fmt"
	"net/url"
	"testing"
	"time"

	"relevel/events"
)

// What the book of one job is measured on, and its other pages.
const (
	bookEvents = 100_000
	jobEvents  = 5_000
	jobLooks   = 30
)

// TestCompareOffice prints what the office's pages of one job cost: the book of the
// longest job that anybody has, and the pages that go through all records of a long one.
func TestCompareOffice(t *testing.T) {
	s := start(t)
	fmt.Printf("The pages of one job. The ratio is the limit to what was measured: above 1 it is kept.\n")
	long := "/jobs/" + s.putJob(t, bookEvents).id.String() + "/book"
	s.measurePage(t, "book-last", long, 50*time.Millisecond)
	s.measurePage(t, "book-kind", long+"?kind=reading", 100*time.Millisecond)
	s.measurePage(t, "book-nothing", long+"?text=thylacine", 300*time.Millisecond)
	s.measurePage(t, "book-earlier", long+"?text=thylacine&before=50000", 300*time.Millisecond)
	usual := "/jobs/" + s.putJob(t, jobEvents).id.String()
	for _, page := range []string{"", "/ties", "/inspections", "/photos", "/condition", "/below", "/handover", "/findings"} {
		s.measurePage(t, "job"+page, usual+page, 100*time.Millisecond)
	}
}

// putJob puts a job of so many events into the log, as a restored backup would.
func (s *site) putJob(t *testing.T, length int) *job {
	j := s.newJob(t)
	for int(j.count) < length {
		var batch events.Batch
		batch.Firm, batch.Job, batch.RecordedAt = s.firm, j.id, time.Now().UTC().Truncate(time.Millisecond)
		for len(batch.Events) < events.MaxBatchEvents && int(j.count) < length {
			in, err := events.Receive(s.reading(j, fmt.Sprintf("B%d-%d", j.count%4+1, j.count%10+1)))
			must(t, err)
			batch.Events = append(batch.Events, in)
		}
		_, err := s.log.Append(t.Context(), batch)
		must(t, err)
	}
	return j
}

// measureSearch prints what it costs to look for words in the books of a large firm:
// those of many lines, of few, and of none.
func (s *site) measureSearch(t *testing.T) {
	for _, asked := range []string{"B1-3", "reading b2-2 sideways", "agreed owner", "thylacine"} {
		s.measurePage(t, "search", "/search?"+url.Values{"q": {asked}}.Encode(), 300*time.Millisecond)
	}
}

// measurePage asks for a page again and again.
func (s *site) measurePage(t *testing.T, name, path string, limit time.Duration) {
	first := timed(t, func() error { s.page(t, path); return nil })
	var took []time.Duration
	busy := processor(t)
	for range jobLooks {
		took = append(took, timed(t, func() error { s.page(t, path); return nil }))
	}
	busy = (processor(t) - busy) / jobLooks
	p50, p95 := quantile(took, 0.5), quantile(took, 0.95)
	fmt.Printf("%-18s  %5.2f   p50 %v p95 %v of at most %v, the first %v; %v of a processor beside the database's; %s\n",
		name, float64(limit)/float64(p95), short(p50), short(p95), limit, short(first), short(busy), query(path))
}

// query is what an address asks for.
func query(path string) string {
	u, _ := url.Parse(path)
	return u.Query().Encode()
}
