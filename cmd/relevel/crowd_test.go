//go:build crowd

package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	neturl "net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/pgdb/pgtest"
)

// What the crowd does: `make crowd` says how long.
const (
	crowdJobs    = 100
	crowdStreams = 1000
	crowdRate    = 200 // appends a second
	crowdWriters = 50
	crowdMost    = 500 * time.Millisecond // that 99 of 100 take at most
)

// spans are how long things took.
type spans struct {
	mu  sync.Mutex
	all []time.Duration
}

func (s *spans) add(d time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all = append(s.all, d)
}

// of is what so many of 100 took at most.
func (s *spans) of(percent int) time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	slices.Sort(s.all)
	if len(s.all) == 0 {
		return 0
	}
	return s.all[min(len(s.all)-1, len(s.all)*percent/100)].Round(100 * time.Microsecond)
}

// asked is when appends were sent, by job and number.
type asked struct {
	mu sync.Mutex
	at map[events.ID]map[int64]time.Time
}

func (a *asked) note(job events.ID, seq int64, at time.Time) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.at[job] == nil {
		a.at[job] = map[int64]time.Time{}
	}
	a.at[job][seq] = at
}

// told returns how long a number was on its way, if its append was noted.
func (a *asked) told(job events.ID, seq int64) (time.Duration, bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	at, ok := a.at[job][seq]
	return time.Since(at), ok
}

// TestCrowd: three servers, a thousand who listen and two hundred appends a second.
func TestCrowd(t *testing.T) {
	lasts, err := time.ParseDuration(os.Getenv("CROWD_LASTS"))
	if err != nil {
		lasts = 2 * time.Minute
	}
	db := pgtest.Own(t)
	r := newRolled(t, db)
	c := &clients{}
	b := &balancer{urls: make([]*neturl.URL, rollOf), fault: c.fault}
	front := httptest.NewServer(b)
	defer front.Close()
	watching, stop := context.WithCancel(context.Background())
	defer stop()
	for place := range rollOf {
		go b.watch(watching, place, r.urls[place].Load)
	}
	b.ready(t, rollOf)
	c.url = front.URL
	http.DefaultTransport.(*http.Transport).MaxIdleConnsPerHost = 100
	_, list := c.begin(t, db, crowdJobs)
	sent := &asked{at: map[events.ID]map[int64]time.Time{}}
	var appends, news spans
	var listening, writing sync.WaitGroup
	for i := range crowdStreams {
		// Each goes to a server itself: a thousand streams through the test's own balancer
		// would measure that.
		one := &clients{url: r.urls[i%rollOf].Load().String(), token: c.token}
		listening.Go(func() {
			if err := hear(watching, one, list[i%crowdJobs], sent, &news); err != nil && watching.Err() == nil {
				c.fault(err)
			}
		})
	}
	for opened := 0; opened < crowdStreams; time.Sleep(100 * time.Millisecond) {
		opened = count(r)
		if len(c.seenFaults()) > 0 {
			t.Fatal(c.faults[0])
		}
	}
	began := time.Now()
	ctx, end := context.WithTimeout(context.Background(), lasts)
	defer end()
	for w := range crowdWriters {
		writing.Go(func() { c.writeSteadily(ctx, list[2*w:2*w+2], sent, &appends) })
	}
	before := processorTime(t, r)
	writing.Wait()
	took, used := time.Since(began), processorTime(t, r)-before
	connections := pgtest.Ask(t, db.Server, `SELECT count(*) FROM pg_stat_activity WHERE usename LIKE 'relevel%'`)
	time.Sleep(2 * time.Second)
	stop()
	listening.Wait()
	for i, p := range r.procs {
		t.Logf("server %d holds %d MiB", i, residentMiB(t, p.cmd.Process.Pid))
	}
	t.Logf("%d appends in %v, %.0f a second: p50 %v, p99 %v", len(appends.all), took.Round(time.Second), float64(len(appends.all))/took.Seconds(), appends.of(50), appends.of(99))
	t.Logf("%d times somebody was told: p50 %v, p99 %v after it was sent", len(news.all), news.of(50), news.of(99))
	t.Logf("the servers used %.1f ms of a processor for each append and all that follows from it", 1000*used.Seconds()/float64(len(appends.all)))
	t.Logf("%s connections to Postgres, %d errors", connections, len(c.faults))
	for _, fault := range c.faults[:min(len(c.faults), 5)] {
		t.Error(fault)
	}
	if appends.of(99) > crowdMost || news.of(99) > 2*crowdMost {
		t.Errorf("want 99 of 100 appends within %v, and told within %v", crowdMost, 2*crowdMost)
	}
}

// processorTime is what the servers used of processors so far (proc(5), stat; a tick is a
// hundredth of a second).
func processorTime(t *testing.T, r *rolled) (all time.Duration) {
	for _, p := range r.procs {
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.cmd.Process.Pid))
		if err != nil {
			t.Fatal(err)
		}
		f := strings.Fields(string(text[strings.LastIndexByte(string(text), ')')+1:]))
		for _, field := range f[11:13] {
			ticks, _ := strconv.Atoi(field)
			all += time.Duration(ticks) * 10 * time.Millisecond
		}
	}
	return all
}

// count is how many streams are open, as the servers' sockets tell.
func count(r *rolled) (open int) {
	for i := range r.procs {
		port, _ := strconv.Atoi(r.urls[i].Load().Port())
		open += established(port)
	}
	return open
}

// established counts the connections to a port of this machine (proc(5), net/tcp).
func established(port int) (n int) {
	text, err := os.ReadFile("/proc/net/tcp")
	if err != nil {
		return 0
	}
	local := fmt.Sprintf(":%04X ", port)
	for line := range strings.Lines(string(text)) {
		f := strings.Fields(line)
		if len(f) > 3 && strings.HasSuffix(f[1]+" ", local) && f[3] == "01" {
			n++
		}
	}
	return n
}

// hear follows a stream and notes how long after its append each number came.
func hear(ctx context.Context, c *clients, job events.ID, sent *asked, news *spans) error {
	resp, err := c.ask(ctx, "GET", "/api/v1/jobs/"+job.String()+"/live", nil)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return errors.New("a stream: " + resp.Status)
	}
	for text := bufio.NewScanner(resp.Body); text.Scan(); {
		id, ok := strings.CutPrefix(text.Text(), "id: ")
		if !ok {
			continue
		}
		seq, _ := strconv.ParseInt(id, 10, 64)
		if took, ok := sent.told(job, seq); ok {
			news.add(took)
		}
	}
	return ctx.Err()
}

// writeSteadily appends to two jobs in turn at this writer's share of the rate. A number
// is noted before it is sent: nobody else writes to these jobs.
func (c *clients) writeSteadily(ctx context.Context, list []events.ID, sent *asked, took *spans) {
	tick := time.NewTicker(time.Second * crowdWriters / crowdRate)
	defer tick.Stop()
	device, seq := newTestID(), make([]int64, len(list))
	for n := int64(1); ; n++ {
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
		i := int(n) % len(list)
		raw := fmt.Sprintf(`{"events":[{"id":"%s","job":"%s","kind":"note","v":1,"at":%q,"device":"%s","device_seq":%d,"seen_seq":0,"by":"%s","body":{"text":"in a crowd"}}]}`,
			newTestID(), list[i], time.Now().Format(time.RFC3339Nano), device, n, device)
		began := time.Now()
		sent.note(list[i], seq[i]+1, began)
		if _, ok := c.whole("POST", "/api/v1/jobs/"+list[i].String()+"/events", []byte(raw)); !ok {
			return
		}
		took.add(time.Since(began))
		seq[i]++
	}
}
