// Package client speaks to the API of a server, as a phone does.
package client

import (
	"bytes"
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

// Client speaks for one firm. It may be used by many goroutines.
type Client struct {
	URL   string // of the server, without a slash at its end
	Token string
	HTTP  *http.Client
}

// New makes a client. A request that gets no answer within half a minute fails.
func New(url, token string) *Client {
	return &Client{URL: strings.TrimRight(url, "/"), Token: token, HTTP: &http.Client{Timeout: 30 * time.Second}}
}

// Refused is what the server answers instead of doing it.
type Refused struct {
	Status int
	Detail string
}

func (r *Refused) Error() string { return fmt.Sprintf("the server answers %d: %s", r.Status, r.Detail) }

// KeptApart is an event that the server took and found no place for in a book.
type KeptApart struct {
	ID     events.ID
	Reason string
}

func (k *KeptApart) Error() string {
	return fmt.Sprintf("event %s was quarantined: %s", k.ID, k.Reason)
}

// CreatePerson adds somebody to the firm. It may be repeated.
func (c *Client) CreatePerson(ctx context.Context, p jobs.Person) error {
	return c.post(ctx, "/people", p, nil)
}

// CreateCrew adds a crew to the firm. It may be repeated.
func (c *Client) CreateCrew(ctx context.Context, w jobs.Crew) error {
	return c.post(ctx, "/crews", w, nil)
}

// CreateJack adds a jack to the firm's kit. It may be repeated.
func (c *Client) CreateJack(ctx context.Context, j jobs.Jack) error {
	return c.post(ctx, "/jacks", j, nil)
}

// CreateLaser adds a laser to the firm's kit. It may be repeated.
func (c *Client) CreateLaser(ctx context.Context, l jobs.Laser) error {
	return c.post(ctx, "/lasers", l, nil)
}

// CreatePractice says how the firm goes about lifting. It may be repeated.
func (c *Client) CreatePractice(ctx context.Context, p jobs.Practice) error {
	return c.post(ctx, "/practice", p, nil)
}

// CreateJob starts a job and its log. It may be repeated.
func (c *Client) CreateJob(ctx context.Context, j jobs.Job) error {
	return c.post(ctx, "/jobs", j, nil)
}

// CloseJob closes a job or opens it again. It may be repeated.
func (c *Client) CloseJob(ctx context.Context, closing jobs.Closing) error {
	return c.post(ctx, "/jobs/"+closing.Job.String()+"/closing", closing, nil)
}

// Receipt is what became of a batch of events.
type Receipt struct {
	Results []struct {
		ID      events.ID      `json:"id"`
		Outcome events.Outcome `json:"outcome"`
		Seq     int64          `json:"seq"`
		Reason  string         `json:"reason"`
	} `json:"results"`
	Seq      int64          `json:"seq"`
	Supports []jobs.Support `json:"supports"` // those the events touched, as they are now
}

// Append sends sealed events, at most events.MaxBatchEvents of them. An event
// that is quarantined is a KeptApart here: a client that seals well has none.
func (c *Client) Append(ctx context.Context, job events.ID, sealed []events.Incoming) (Receipt, error) {
	raws := make([]json.RawMessage, len(sealed))
	for i, in := range sealed {
		raws[i] = in.Raw
	}
	var r Receipt
	path := "/jobs/" + job.String() + "/events"
	if err := c.post(ctx, path, map[string]any{"events": raws}, &r); err != nil {
		return Receipt{}, err
	}
	for _, e := range r.Results {
		if e.Outcome == events.WasQuarantined {
			return r, &KeptApart{e.ID, e.Reason}
		}
	}
	return r, nil
}

// PutPhoto sends a JPEG under its digest. It may be repeated.
func (c *Client) PutPhoto(ctx context.Context, digest events.Digest, jpeg []byte) error {
	return c.do(ctx, http.MethodPut, "/photos/"+digest.String(), events.MediaJPEG, jpeg, nil)
}

// Pair makes a device one of the firm's, under a name. It may be repeated.
func (c *Client) Pair(ctx context.Context, name string, device events.ID) error {
	var known struct {
		Devices []struct {
			ID events.ID `json:"device_id"`
		} `json:"devices"`
	}
	if err := c.do(ctx, http.MethodGet, "/devices", "", nil, &known); err != nil {
		return err
	}
	for _, d := range known.Devices {
		if d.ID == device {
			return nil
		}
	}
	var pairing struct {
		Code string `json:"code"`
	}
	if err := c.post(ctx, "/pairings", struct{}{}, &pairing); err != nil {
		return err
	}
	return c.post(ctx, "/pair", map[string]any{"code": pairing.Code, "device": name, "device_id": device}, nil)
}

// ReportPhone says what is still on a phone.
func (c *Client) ReportPhone(ctx context.Context, device events.ID, r jobs.PhoneReport) error {
	return c.post(ctx, "/phone/report", struct {
		Device events.ID `json:"device"`
		jobs.PhoneReport
	}{device, r}, nil)
}

// State returns a job as the server has it now.
func (c *Client) State(ctx context.Context, job events.ID) (jobs.Picture, error) {
	var p jobs.Picture
	err := c.do(ctx, http.MethodGet, "/jobs/"+job.String()+"/state", "", nil, &p)
	return p, err
}

func (c *Client) post(ctx context.Context, path string, in, out any) error {
	body, err := json.Marshal(in)
	if err != nil {
		return fmt.Errorf("write the request: %w", err)
	}
	return c.do(ctx, http.MethodPost, path, "application/json", body, out)
}

// do sends one request below /api/v1 and reads its answer into out, unless that
// is nil.
func (c *Client) do(ctx context.Context, method, path, media string, body []byte, out any) error {
	req, err := http.NewRequestWithContext(ctx, method, c.URL+"/api/v1"+path, bytes.NewReader(body))
	if err != nil {
		return fmt.Errorf("make the request: %w", err)
	}
	req.Header.Set("Authorization", "Bearer "+c.Token)
	if media != "" {
		req.Header.Set("Content-Type", media)
	}
	res, err := c.HTTP.Do(req)
	if err != nil {
		return fmt.Errorf("ask the server: %w", err)
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	switch {
	case err != nil:
		return fmt.Errorf("read the answer to %s: %w", path, err)
	case res.StatusCode >= 300:
		return fmt.Errorf("%s %s: %w", method, path, refusal(res.StatusCode, answer))
	case out == nil:
		return nil
	}
	if err := json.Unmarshal(answer, out); err != nil {
		return fmt.Errorf("read the answer to %s: %w", path, err)
	}
	return nil
}

// refusal takes the words for people from problem details (RFC 9457).
func refusal(status int, answer []byte) error {
	var problem struct {
		Detail string `json:"detail"`
	}
	if json.Unmarshal(answer, &problem) != nil || problem.Detail == "" {
		problem.Detail = fmt.Sprintf("%.200s", answer)
	}
	return &Refused{Status: status, Detail: problem.Detail}
}
