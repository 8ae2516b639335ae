package client

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// Jobs lists the jobs of the firm.
func (c *Client) Jobs(ctx context.Context) ([]jobs.Job, error) {
	var list struct {
		Jobs []jobs.Job `json:"jobs"`
	}
	err := c.do(ctx, http.MethodGet, "/jobs", "", nil, &list)
	return list.Jobs, err
}

// Written is one record as the server keeps it.
type Written struct {
	Seq        int64       `json:"seq"`
	RecordedAt time.Time   `json:"recorded_at"`
	Leaf       events.Hash `json:"leaf"`
	Bytes      []byte      `json:"bytes"`
	Salt       []byte      `json:"salt"`
}

// Book reads up to limit records of a job after a number, exactly as they are kept, and
// how many there are.
func (c *Client) Book(ctx context.Context, job events.ID, after int64, limit int) (page []Written, seq int64, err error) {
	var book struct {
		Events []Written `json:"events"`
		Seq    int64     `json:"seq"`
	}
	err = c.do(ctx, http.MethodGet, fmt.Sprintf("/jobs/%s/events?after=%d&limit=%d&exact=1", job, after, limit), "", nil, &book)
	return book.Events, book.Seq, err
}

// Checkpoint is the last signed note of a job.
func (c *Client) Checkpoint(ctx context.Context, job events.ID) ([]byte, error) {
	return c.read(ctx, "/api/v1/jobs/"+job.String()+"/checkpoint")
}

// Inclusion is the proof that a record is in the checkpoint of a size, as text.
func (c *Client) Inclusion(ctx context.Context, job events.ID, seq, size int64) ([]byte, error) {
	return c.read(ctx, fmt.Sprintf("/api/v1/jobs/%s/proof/inclusion?seq=%d&size=%d", job, seq, size))
}

// Keys are the public keys of the server, as text.
func (c *Client) Keys(ctx context.Context) ([]byte, error) { return c.read(ctx, "/keys") }

// Photo is a photo as it was sent.
func (c *Client) Photo(ctx context.Context, digest events.Digest) ([]byte, error) {
	return c.read(ctx, "/api/v1/photos/"+digest.String()+"?size=original")
}

// maxRead bounds an answer that is read whole.
const maxRead = 16 << 20

// read asks for something that is no JSON.
func (c *Client) read(ctx context.Context, path string) ([]byte, error) {
	res, err := c.ask(ctx, path, c.HTTP)
	if err != nil {
		return nil, err
	}
	defer res.Body.Close()
	body, err := io.ReadAll(io.LimitReader(res.Body, maxRead))
	if err != nil {
		return nil, fmt.Errorf("read the answer to %s: %w", path, err)
	}
	return body, nil
}

// ask sends a GET and returns the answer if it is a good one.
func (c *Client) ask(ctx context.Context, path string, through *http.Client) (*http.Response, error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, c.URL+path, nil)
	if err != nil {
		return nil, fmt.Errorf("make the request: %w", err)
	}
	req.Header.Set("Authorization", "Bearer "+c.Token)
	res, err := through.Do(req)
	if err != nil {
		return nil, fmt.Errorf("ask the server: %w", err)
	}
	if res.StatusCode >= 300 {
		defer res.Body.Close()
		answer, _ := io.ReadAll(io.LimitReader(res.Body, maxRead))
		return nil, fmt.Errorf("GET %s: %w", path, refusal(res.StatusCode, answer))
	}
	return res, nil
}

// Live tells how far a job's log goes, each time that it grows. Whoever listens closes
// it.
type Live struct {
	body io.ReadCloser
	text *bufio.Scanner
}

// Listen opens the live stream of a job. It goes on until ctx ends.
func (c *Client) Listen(ctx context.Context, job events.ID) (*Live, error) {
	without := *c.HTTP
	without.Timeout = 0
	res, err := c.ask(ctx, "/api/v1/jobs/"+job.String()+"/live", &without)
	if err != nil {
		return nil, err
	}
	return &Live{res.Body, bufio.NewScanner(res.Body)}, nil
}

// Next waits for the next head.
func (l *Live) Next() (seq int64, err error) {
	for l.text.Scan() {
		data, is := strings.CutPrefix(l.text.Text(), "data: ")
		if !is {
			continue
		}
		var head struct {
			Seq int64 `json:"seq"`
		}
		if err := json.Unmarshal([]byte(data), &head); err != nil {
			return 0, fmt.Errorf("read a live stream: %w", err)
		}
		return head.Seq, nil
	}
	if l.text.Err() != nil {
		return 0, fmt.Errorf("read a live stream: %w", l.text.Err())
	}
	return 0, fmt.Errorf("read a live stream: %w", io.ErrUnexpectedEOF)
}

// Close ends it.
func (l *Live) Close() error { return l.body.Close() }
