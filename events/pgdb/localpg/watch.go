package localpg

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"time"
)

// A server that keeps dying is not started again for ever: more than
// maxRestarts ends within restartWindow and we give up.
const (
	maxRestarts   = 5
	restartWindow = time.Minute
)

// watch starts the postmaster again when it died without being told to.
func (s *Server) watch(ctx context.Context) {
	defer close(s.done)
	defer s.release()
	var ends []time.Time
	for {
		p := s.running()
		<-p.exited
		if ctx.Err() != nil {
			return
		}
		ends = recent(append(ends, time.Now()))
		if len(ends) > maxRestarts {
			s.err = fmt.Errorf("postgres died %d times within %v: %s", len(ends), restartWindow, p.words)
			return
		}
		fmt.Fprintf(s.config.Log, "postgres, process %d, died; starting it again\n", p.pid)
		next, err := s.launch(ctx)
		if err != nil {
			if ctx.Err() == nil {
				s.err = fmt.Errorf("start postgres again: %w", err)
			}
			return
		}
		if !s.replaceRunning(next) {
			s.err = next.end(stopPatience)
			return
		}
	}
}

func (s *Server) running() *postmaster {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.current
}

// replaceRunning reports false when Stop came in between: it has told the old
// postmaster, so the new one is for us to end.
func (s *Server) replaceRunning(next *postmaster) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.stopping {
		return false
	}
	s.current = next
	return true
}

func recent(ends []time.Time) []time.Time {
	for len(ends) > 0 && time.Since(ends[0]) > restartWindow {
		ends = ends[1:]
	}
	return ends
}

// tail keeps the last few kilobytes of what a process wrote.
type tail struct {
	mu   sync.Mutex
	kept []byte
}

const tailBytes = 4 << 10

func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.kept = append(t.kept, p...)
	if over := len(t.kept) - tailBytes; over > 0 {
		t.kept = append(t.kept[:0], t.kept[over:]...)
	}
	return len(p), nil
}

func (t *tail) String() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return string(bytes.TrimSpace(t.kept))
}
