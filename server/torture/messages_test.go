package torture_test

import (
	"encoding/binary"
	"sync/atomic"
)

// messages finds where messages of the Postgres protocol begin: a byte that says what
// it is and a length of four, but for a client's first, which has no such byte.
type messages struct {
	untyped bool
	skip    int    // bytes of the message under way that are still to come
	head    []byte // of the message whose head is not whole yet
}

// next returns the kind of the first message that begins in a piece, and where; -1 if
// none does. What stands before it is taken for read.
func (m *messages) next(piece []byte) (kind byte, at int) {
	passed := min(m.skip, len(piece))
	m.skip -= passed
	if passed == len(piece) {
		return 0, -1
	}
	if m.untyped {
		return 0, passed
	}
	return piece[passed], passed
}

// begin reads the head of the message that begins a piece and returns how much of the
// piece that took.
func (m *messages) begin(piece []byte) int {
	whole := 5
	if m.untyped {
		whole = 4
	}
	taken := min(whole-len(m.head), len(piece))
	m.head = append(m.head, piece[:taken]...)
	if len(m.head) == whole {
		m.skip = int(binary.BigEndian.Uint32(m.head[whole-4:])) - 4
		m.head, m.untyped = m.head[:0], false
	}
	return taken
}

// session watches one connection to Postgres for a trap. An operation is what ends with
// a Sync or is a Query: what Postgres does as a whole or not at all.
type session struct {
	trap     *atomic.Pointer[trap]
	to, from messages
	asked    atomic.Int64 // operations of this connection
	answered int64        // the first answer is that to the greeting
	awaited  atomic.Int64 // the operation whose answer is not to arrive
}

func newSession(t *atomic.Pointer[trap]) *session {
	return &session{trap: t, to: messages{untyped: true}, answered: -1}
}

// up implements watcher.
func (s *session) up(piece []byte) ([]byte, bool) {
	t := s.trap.Load()
	if t.over() {
		return nil, true
	}
	for at := 0; at < len(piece); {
		if len(s.to.head) > 0 {
			at += s.to.begin(piece[at:])
			continue
		}
		kind, next := s.to.next(piece[at:])
		if next < 0 {
			break
		}
		at += next
		if kind == 'S' || kind == 'Q' {
			number := t.count()
			mine := s.asked.Add(1)
			switch {
			case t.is(number, before):
				t.spring()
				return piece[:at], true
			case t.is(number, sent):
				defer t.spring()
			case t.is(number, after):
				s.awaited.Store(mine)
			}
		}
		at += s.to.begin(piece[at:])
	}
	return piece, false
}

// down implements watcher. Z says that an operation is done.
func (s *session) down(piece []byte) ([]byte, bool) {
	t := s.trap.Load()
	if t.over() {
		return nil, true
	}
	for at := 0; at < len(piece); {
		if len(s.from.head) > 0 {
			at += s.from.begin(piece[at:])
			continue
		}
		kind, next := s.from.next(piece[at:])
		if next < 0 {
			break
		}
		at += next
		if kind == 'Z' {
			s.answered++
			if s.answered > 0 && s.answered == s.awaited.Load() {
				t.spring()
				return nil, true
			}
		}
		at += s.from.begin(piece[at:])
	}
	return piece, false
}
