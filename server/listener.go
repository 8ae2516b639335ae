package server

import (
	"sync"

	"relevel/events"
	"relevel/jobs"
)

// listener is one live stream: of one job, or of all jobs of a firm if the job
// is zero.
type listener struct {
	key  jobKey
	wake chan struct{} // holds one

	mu        sync.Mutex
	told      map[events.ID]int64 // what the listener knows
	waiting   map[events.ID]int64 // what it is to be told
	revisions map[events.ID]int   // of the particulars that it knows
	changed   []events.ID         // jobs whose particulars are others
}

// tell notes what a listener is to be told, unless it knows already. It never
// waits: a slow listener is told the latest and not all that was between.
func (l *listener) tell(job events.ID, seq int64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if told, known := l.told[job]; known && seq <= told {
		return
	}
	l.told[job], l.waiting[job] = seq, seq
	wakeUp(l.wake)
}

// tellAll notes where all jobs of a firm stand.
func (l *listener) tellAll(all map[events.ID]jobs.Latest) {
	for job, s := range all {
		if s.Seq >= 0 {
			l.tell(job, s.Seq)
		}
		l.tellRevision(job, s.Revision)
	}
}

// tellRevision has a listener told that a job's particulars are others than those it
// came with.
func (l *listener) tellRevision(job events.ID, revision int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	was, known := l.revisions[job]
	l.revisions[job] = max(was, revision)
	if !known || revision <= was {
		return
	}
	l.changed = append(l.changed, job)
	wakeUp(l.wake)
}

// knows notes what a listener has been told before.
func (l *listener) knows(job events.ID, seq int64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if told, known := l.told[job]; !known || told < seq {
		l.told[job] = seq
	}
}

// take returns what the listener is to be told now.
func (l *listener) take() (news map[events.ID]int64, changed []events.ID) {
	l.mu.Lock()
	defer l.mu.Unlock()
	news, changed = l.waiting, l.changed
	l.waiting, l.changed = map[events.ID]int64{}, nil
	return news, changed
}
