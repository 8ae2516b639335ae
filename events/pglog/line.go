package pglog

import (
	"context"
	"fmt"
	"sync"

	"relevel/events"
)

// lines lets the appends of this process to one job go one after the other,
// each from the head the one before left. Without them all but one of those
// that start from the same head would have to start again. Other processes are
// kept apart by the database alone.
type lines struct {
	max int

	mu    sync.Mutex
	byJob map[jobKey]*line
}

type jobKey struct{ firm, job events.ID }

// line is one job's. Its head belongs to whoever has the turn.
type line struct {
	key   jobKey
	turn  chan struct{}
	users int // who holds or waits for the turn; under lines.mu

	head  events.Head
	known bool
}

func newLines(limit int) *lines {
	return &lines{max: limit, byJob: make(map[jobKey]*line)}
}

// enter waits for the turn on a job.
func (l *lines) enter(ctx context.Context, firm, job events.ID) (*line, error) {
	line := l.join(jobKey{firm, job})
	select {
	case line.turn <- struct{}{}:
		return line, nil
	case <-ctx.Done():
		l.quit(line)
		return nil, fmt.Errorf("%w: wait for earlier appends to the job: %w", events.ErrUnavailable, ctx.Err())
	}
}

func (l *lines) leave(line *line) {
	<-line.turn
	l.quit(line)
}

func (l *lines) join(key jobKey) *line {
	l.mu.Lock()
	defer l.mu.Unlock()
	found := l.byJob[key]
	if found == nil {
		l.makeRoom()
		found = &line{key: key, turn: make(chan struct{}, 1)}
		l.byJob[key] = found
	}
	found.users++
	return found
}

func (l *lines) quit(line *line) {
	l.mu.Lock()
	defer l.mu.Unlock()
	line.users--
}

// makeRoom forgets any idle job when there are too many. The next append to it
// takes the longer way once.
func (l *lines) makeRoom() {
	if len(l.byJob) < l.max {
		return
	}
	for key, line := range l.byJob {
		if line.users == 0 {
			delete(l.byJob, key)
			return
		}
	}
}
