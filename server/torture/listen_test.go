package torture_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"time"

	"relevel/events"
)

// reader reads a job from its last page on. What it saw must never be otherwise.
type reader struct {
	*crew
	job  events.ID
	seen int64
}

func (r *reader) read() {
	status, answer, err := r.ask("GET", fmt.Sprintf("/api/v1/jobs/%s/events?after=%d&limit=100", r.job, r.seen), r.token, nil)
	if err != nil || status != 200 {
		return
	}
	var page struct {
		Events []struct{ Seq int64 }
		Seq    int64
	}
	if err := json.Unmarshal(answer, &page); err != nil {
		r.t.Errorf("a page of the book: %v", err)
		return
	}
	if page.Seq < r.seen {
		r.count.lost.Add(1)
		r.t.Errorf("a job of %d events has %d now", r.seen, page.Seq)
	}
	for _, e := range page.Events {
		if r.seen++; e.Seq != r.seen {
			r.count.gaps.Add(1)
			r.t.Errorf("number %d follows %d", e.Seq, r.seen-1)
			r.seen = e.Seq
		}
	}
	r.count.reads.Add(1)
}

// listener hears of a job for a while at a time. Numbers only grow, also from one
// stream to the next.
type listener struct {
	*crew
	job  events.ID
	last int64
}

func (l *listener) listen() {
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, "GET", "http://"+l.lines.phones.listener.Addr().String()+"/api/v1/jobs/"+l.job.String()+"/live", nil)
	must(l.t, err)
	r.Header.Set("Authorization", "Bearer "+l.token)
	resp, err := l.client.Do(r)
	if err != nil {
		return
	}
	defer resp.Body.Close()
	for text := bufio.NewScanner(resp.Body); text.Scan(); {
		data, isHead := strings.CutPrefix(text.Text(), "data: ")
		var head struct{ Seq int64 }
		if !isHead || json.Unmarshal([]byte(data), &head) != nil {
			continue
		}
		if head.Seq < l.last {
			l.count.lost.Add(1)
			l.t.Errorf("a stream told of %d events after %d", head.Seq, l.last)
		}
		l.last = max(l.last, head.Seq)
		l.count.heard.Add(1)
	}
}

// witness keeps the last checkpoint of a job, as phones do.
func (c *crew) witness(job events.ID) {
	status, note, err := c.ask("GET", "/api/v1/jobs/"+job.String()+"/checkpoint", c.token, nil)
	if err != nil || status != 200 {
		return
	}
	c.book.Lock()
	defer c.book.Unlock()
	c.notes[string(note)] = job
}
