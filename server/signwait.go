package server

import (
	"errors"
	"time"

	"relevel/server/signing"
)

// unsigned are the jobs whose head is not signed yet, for those who watch over the
// server: since when it knows of each, and which cannot be because their log is not
// what was signed before. Whoever uses it holds the lock of its signWork.
type unsigned struct {
	since    map[jobKey]time.Time
	disagree map[jobKey]bool
}

func newUnsigned() unsigned {
	return unsigned{since: map[jobKey]time.Time{}, disagree: map[jobKey]bool{}}
}

// waits notes that a job has a head that is not signed.
func (u unsigned) waits(key jobKey, now time.Time) {
	if _, known := u.since[key]; !known && !u.disagree[key] {
		u.since[key] = now
	}
}

// signed notes that the head of a job is signed. What came meanwhile was marked since
// and is found again by the next look over heads.
func (u unsigned) signed(key jobKey) {
	delete(u.since, key)
	delete(u.disagree, key)
}

// disagrees notes that a job is not signed because of what its log has. It is told by
// itself, and not as one that is late.
func (u unsigned) disagrees(key jobKey) {
	delete(u.since, key)
	u.disagree[key] = true
}

// waits says how many jobs have a head that is not signed, for how long the oldest of
// them has waited, and how many more cannot be signed.
func (w *signWork) waits() (n int, oldest time.Duration, disagree int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.now()
	for _, since := range w.waiting.since {
		oldest = max(oldest, now.Sub(since))
	}
	return len(w.waiting.since), oldest, len(w.waiting.disagree)
}

// settled notes how an attempt to sign a job ended that is not made again.
func (w *signWork) settled(key jobKey, size int64, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch {
	case errors.Is(err, signing.ErrDisagrees):
		w.waiting.disagrees(key)
	case err != nil: // the job is gone
		w.waiting.signed(key)
	default:
		w.signed[key] = size
		w.waiting.signed(key)
	}
}
