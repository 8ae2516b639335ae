package hooks

import (
	"bytes"
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// Limits of one delivery: whoever is slow, or answers at length, is sent to again.
const (
	dialTime   = 5 * time.Second
	answerTime = 10 * time.Second
	sendTime   = 15 * time.Second
	mostAnswer = 4 << 10 // of the body of an answer, which is not looked at
	mostHeader = 16 << 10
)

// Sender sends messages and says how it went.
type Sender struct {
	client *http.Client
	guard  Guard
	now    func() time.Time
	random io.Reader
}

// NewSender makes a sender that stays out of the networks that a guard keeps.
func NewSender(g Guard, now func() time.Time, random io.Reader) *Sender {
	dialer := &net.Dialer{Timeout: dialTime, Control: g.control}
	return &Sender{guard: g, now: now, random: random, client: &http.Client{
		Timeout:       sendTime,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{ // no proxy: it would do the dialling
			DialContext: dialer.DialContext, TLSHandshakeTimeout: dialTime, ResponseHeaderTimeout: answerTime,
			MaxResponseHeaderBytes: mostHeader, DisableCompression: true, MaxIdleConnsPerHost: 2, IdleConnTimeout: 30 * time.Second,
			TLSClientConfig: &tls.Config{MinVersion: tls.VersionTLS12}, ForceAttemptHTTP2: true,
		},
	}}
}

// Send tells a hook, and returns how it went. The error is not about the address but
// about us: a message that cannot be written.
func (s *Sender) Send(ctx context.Context, h jobs.Hook, m Message, subject string) (jobs.Delivery, error) {
	body, err := json.Marshal(m)
	if err != nil {
		return jobs.Delivery{}, fmt.Errorf("write a message: %w", err)
	}
	at := s.now()
	id, err := events.NewID(at, s.random)
	if err != nil {
		return jobs.Delivery{}, err
	}
	d := jobs.Delivery{
		Firm: h.Firm, ID: id, Hook: h.ID, Delivery: m.ID, Subject: subject, Seq: m.Seq, Happening: m.Happening, At: at.UTC().Truncate(time.Millisecond),
	}
	begin := time.Now()
	d.Status, err = s.post(ctx, h, m, body, at)
	d.Took = time.Since(begin).Truncate(time.Millisecond)
	switch {
	case err != nil:
		d.Reason = reasonOf(err)
	case !d.Arrived():
		d.Reason = "answered " + http.StatusText(d.Status)
	}
	return d, nil
}

func (s *Sender) post(ctx context.Context, h jobs.Hook, m Message, body []byte, at time.Time) (status int, err error) {
	if err := s.guard.CheckURL(h.URL); err != nil { // what is allowed may have changed
		return 0, err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, h.URL, bytes.NewReader(body))
	if err != nil {
		return 0, err
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("User-Agent", "relevel")
	r.Header.Set(SignatureHeader, Sign(h.Secret, at, body))
	r.Header.Set(DeliveryHeader, m.ID.String())
	r.Header.Set(HappeningHeader, string(m.Happening))
	answer, err := s.client.Do(r)
	if err != nil {
		return 0, err
	}
	defer answer.Body.Close()
	_, _ = io.CopyN(io.Discard, answer.Body, mostAnswer) // so that the connection is used again; what it says is nobody's
	return answer.StatusCode, nil
}

// reasonOf says why there was no answer, and no more of the networks behind it.
func reasonOf(err error) string {
	var name *net.DNSError
	var address *net.AddrError
	var bad *tls.CertificateVerificationError
	var timeout net.Error
	switch {
	case errors.As(err, &address):
		return "the name leads into a network that is not told"
	case errors.As(err, &name):
		return "there is no such name"
	case errors.As(err, &bad):
		return "its certificate is not trusted"
	case errors.As(err, &timeout) && timeout.Timeout(), errors.Is(err, context.DeadlineExceeded):
		return "no answer in time"
	case errors.Is(err, context.Canceled):
		return "broken off"
	}
	return "cannot be reached"
}
