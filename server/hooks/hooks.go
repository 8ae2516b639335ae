// Package hooks tells addresses of a firm's choice what happens on its jobs.
//
// Each delivery is an HTTP POST of one JSON object, signed with the hook's secret. A
// hook is told of the events of one job in their order, and of each at least once: a
// delivery that was sent twice has the same id. What is not taken is sent again, later
// and later for a day.
package hooks

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// The headers of a delivery.
const (
	SignatureHeader = "Relevel-Signature" // t=UNIX SECONDS,v1=HMAC-SHA-256 in hexadecimal
	DeliveryHeader  = "Relevel-Delivery"  // the same for every attempt
	HappeningHeader = "Relevel-Happening"
)

// Message is what a hook is told.
type Message struct {
	ID         events.ID       `json:"id"` // of the delivery
	Happening  jobs.Happening  `json:"happening"`
	Firm       events.ID       `json:"firm"`
	Job        *Job            `json:"job,omitempty"`
	Seq        int64           `json:"seq,omitempty"`         // of the event in its job
	RecordedAt time.Time       `json:"recorded_at,omitzero"`  // when the server received it
	Event      json.RawMessage `json:"event,omitempty"`       // as it was sealed; none where it was erased
	Apart      *Apart          `json:"quarantined,omitempty"` // what was kept apart
	ClosedAt   time.Time       `json:"closed_at,omitzero"`
}

// Job is the job that a message is about.
type Job struct {
	ID   events.ID `json:"id"`
	Name string    `json:"name,omitempty"`
}

// Apart is something that a phone sent and that has no place in a log.
type Apart struct {
	Event  events.ID `json:"event,omitzero"`
	Device events.ID `json:"device,omitzero"`
	At     time.Time `json:"at"`
	Reason string    `json:"reason"`
}

// Sign makes the signature of a body that is sent at a time: over the time as it
// stands in the header, a point, and the bytes of the body. Whoever checks it also
// checks that the time is not long past, so that nobody sends an old body again.
func Sign(secret string, at time.Time, body []byte) string {
	seconds := strconv.FormatInt(at.Unix(), 10)
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write([]byte(seconds + "."))
	mac.Write(body)
	return "t=" + seconds + ",v1=" + hex.EncodeToString(mac.Sum(nil))
}

// NewSecret makes the secret of a hook.
func NewSecret(random io.Reader) (string, error) {
	var b [32]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return "", fmt.Errorf("make a secret: %w", err)
	}
	return "rlh_" + hex.EncodeToString(b[:]), nil
}

// deliveryID names a delivery by what it tells whom, so that it is the same however
// often it is sent.
func deliveryID(hook events.ID, subject string, seq int64) events.ID {
	sum := sha256.New()
	sum.Write([]byte("relevel-delivery-1"))
	sum.Write(hook[:])
	var n [8]byte
	binary.BigEndian.PutUint64(n[:], uint64(seq))
	sum.Write(n[:])
	sum.Write([]byte(subject))
	id := events.ID(sum.Sum(nil)[:16])
	id[6] = id[6]&0x0f | 0x80 // a UUID of version 8
	id[8] = id[8]&0x3f | 0x80
	return id
}

// waits are how long a hook is left alone after each attempt that failed: a day in all.
var waits = []time.Duration{
	30 * time.Second, time.Minute, 2 * time.Minute, 5 * time.Minute, 15 * time.Minute, 30 * time.Minute,
	time.Hour, 2 * time.Hour, 4 * time.Hour, 8 * time.Hour, 8 * time.Hour,
}

// Backoff says how long to wait after so many attempts.
func Backoff(attempts int) (time.Duration, bool) {
	if attempts > len(waits) {
		return 0, false
	}
	return waits[max(attempts, 1)-1], true
}
