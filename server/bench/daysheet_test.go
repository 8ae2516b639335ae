//go:build bench

package bench

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server"
)

// What the day sheet is measured on, and how long the server may take for it in 95
// of 100 times.
const (
	sheetJobs   = 500
	sheetEvents = 200_000
	sheetLimit  = 30 * time.Millisecond
	sheetLooks  = 200
)

// TestCompareDaySheet prints what the day sheet of a large firm costs, quiet and
// while its crews record, and how soon fifty open pages have the line of an append.
func TestCompareDaySheet(t *testing.T) {
	s := start(t)
	all := s.fillFirm(t)
	fmt.Printf("The day sheet of %d jobs, %d events. The ratio is the limit to what was measured: above 1 it is kept.\n", sheetJobs, sheetEvents)
	s.measureSheet(t, "sheet-quiet", func() {})
	hand := s.as(t, jobs.CrewHand)
	hand.measureSheet(t, "sheet-hand", func() {})
	n := 0
	s.measureSheet(t, "sheet-recorded", func() {
		n++
		must(t, s.read(all[n%len(all)]))
	})
	s.measureOpenPages(t, all[0])
	s.measureSearch(t)
}

// fillFirm puts a firm's jobs into the log as a restored backup would, and has their
// rows made by what `relevel rebuild` calls.
func (s *site) fillFirm(t *testing.T) []*job {
	all := make([]*job, sheetJobs)
	for i := range all {
		all[i] = s.newJob(t)
		var batch events.Batch
		batch.Firm, batch.Job, batch.RecordedAt = s.firm, all[i].id, time.Now().UTC().Truncate(time.Millisecond)
		for int(all[i].count) < sheetEvents/sheetJobs {
			in, err := events.Receive(s.reading(all[i], fmt.Sprintf("B%d-%d", all[i].count%4+1, all[i].count%10+1)))
			must(t, err)
			batch.Events = append(batch.Events, in)
		}
		receipt, err := s.log.Append(t.Context(), batch)
		must(t, err)
		if receipt.Head.Seq != sheetEvents/sheetJobs {
			t.Fatalf("the log of a job has %d events, want %d", receipt.Head.Seq, sheetEvents/sheetJobs)
		}
	}
	folded, err := server.Rebuild(t.Context(), s.log, s.store, s.firm)
	must(t, err)
	if folded != sheetJobs {
		t.Fatalf("%d rows were made, want %d", folded, sheetJobs)
	}
	return all
}

// measureSheet asks for the page again and again, after something each time.
func (s *site) measureSheet(t *testing.T, name string, before func()) {
	first := timed(t, func() error { s.page(t, "/"); return nil })
	var took []time.Duration
	var sent []byte
	busy := time.Duration(0) // of a processor, the server's and this client's
	for range sheetLooks {
		before()
		began, used := time.Now(), processor(t)
		sent = s.page(t, "/")
		took, busy = append(took, time.Since(began)), busy+processor(t)-used
	}
	p50, p95 := quantile(took, 0.5), quantile(took, 0.95)
	fmt.Printf("%-18s  %5.2f   p50 %v p95 %v of at most %v, the first %v; %v of a processor beside the database's; %d KB of HTML, %d KB sent\n",
		name, float64(sheetLimit)/float64(p95), short(p50), short(p95), sheetLimit, short(first), short(busy/sheetLooks), len(unpacked(t, sent))>>10, len(sent)>>10)
}

// processor is how long this process has kept processors busy: where others share
// the machine, that and not the time on the wall is what a page costs.
func processor(t *testing.T) time.Duration {
	var used syscall.Rusage
	must(t, syscall.Getrusage(syscall.RUSAGE_SELF, &used))
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// page asks for a page as a browser does, which takes it compressed.
func (s *site) page(t *testing.T, path string) []byte {
	r, err := http.NewRequestWithContext(t.Context(), "GET", s.address+path, nil)
	must(t, err)
	s.identify(r)
	r.Header.Set("Accept-Encoding", "gzip")
	resp, err := s.client.Do(r)
	must(t, err)
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	must(t, err)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s: %s", path, resp.Status, body)
	}
	return body
}

func unpacked(t *testing.T, body []byte) []byte {
	z, err := gzip.NewReader(bytes.NewReader(body))
	must(t, err)
	plain, err := io.ReadAll(z)
	must(t, err)
	return plain
}

// pagesOpen is how many day sheets look on.
const pagesOpen = 50

// seenWithin is how soon an append has to stand on all of them.
const seenWithin = time.Second

// measureOpenPages opens the firm's stream as often as there are pages, appends, and
// has each page ask for the line it is told of.
func (s *site) measureOpenPages(t *testing.T, of *job) {
	var took []time.Duration
	for range 10 {
		heard := make(chan time.Time, pagesOpen)
		want := fmt.Sprintf(`{"job":%q,"seq":%d}`, of.id.String(), of.count+1)
		var ready sync.WaitGroup
		ready.Add(pagesOpen)
		for range pagesOpen {
			go s.openPage(t, of.id, of.count+1, want, ready.Done, heard)
		}
		ready.Wait()
		began := time.Now()
		must(t, s.read(of))
		last := began
		for range pagesOpen {
			select {
			case at := <-heard:
				last = at
			case <-time.After(10 * time.Second):
				t.Fatal("a page that is open was not told")
			}
		}
		took = append(took, last.Sub(began))
	}
	slowest := quantile(took, 1)
	fmt.Printf("sheet-seen          %5.2f   an append stands on all of %d open pages after %v (median %v) of at most %v\n",
		float64(seenWithin)/float64(slowest), pagesOpen, short(slowest), short(quantile(took, 0.5)), seenWithin)
}

// openPage listens until it is told of an event, and asks for the line with it.
func (s *site) openPage(t *testing.T, of events.ID, seq int64, want string, ready func(), heard chan<- time.Time) {
	ready = sync.OnceFunc(ready)
	defer ready() // one that fails keeps nobody waiting
	r, err := http.NewRequestWithContext(t.Context(), "GET", s.address+"/api/v1/live", nil)
	if err != nil {
		t.Error(err)
		return
	}
	r.Header.Set("Authorization", "Bearer "+s.token)
	resp, err := http.DefaultTransport.RoundTrip(r)
	if err != nil {
		t.Error(err)
		return
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		t.Errorf("the stream answers %s", resp.Status)
		return
	}
	text, told := "", make([]byte, 64<<10)
	for !strings.Contains(text, want) {
		n, err := resp.Body.Read(told)
		if err != nil {
			t.Error(err)
			return
		}
		text = text[max(0, len(text)-len(want)):] + string(told[:n])
		ready()
	}
	line := fmt.Sprintf(`data-job="%s" data-seq="%d"`, of, seq)
	if body := unpacked(t, s.page(t, fmt.Sprintf("/lines?job=%s.%d", of, seq))); !bytes.Contains(body, []byte(line)) {
		t.Errorf("the line is not that of event %d: %.300s", seq, body)
	}
	heard <- time.Now()
}
