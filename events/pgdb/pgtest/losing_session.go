package pgtest

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
)

// session is one connection of a Losing. It knows of the protocol (PostgreSQL, chapter
// "Frontend/Backend Protocol") what says where a transaction would be committed: at a Sync
// behind what is executed outside of one that was begun, or at COMMIT.
type session struct {
	way *Losing

	mu       sync.Mutex
	greeted  bool
	status   byte              // of the transaction, as the database last said: I, T or E
	texts    map[string]string // of statements that are prepared, by name
	executes bool              // something was executed since the last Sync
	begins   bool              // and it began a transaction
	asked    []*operation      // that are not answered
	times    int32             // the transaction under way lost so far
}

// operation is what the database answers as a whole.
type operation struct {
	executes bool
	ours     bool // it is to lose
	lost     bool // and did, not failing for another reason
}

func newSession(l *Losing) *session { return &session{way: l, texts: map[string]string{}} }

// OnPurpose stands in the errors of transactions that lost by way of a Losing.
const OnPurpose = "lost_on_purpose"

// ask looks at what goes to the database.
func (s *session) ask(m message) []message {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch m.kind {
	case 'P': // Parse
		name, rest, _ := bytes.Cut(m.body, []byte{0})
		text, _, _ := bytes.Cut(rest, []byte{0})
		s.texts[string(name)] = string(text)
	case 'B': // Bind
		_, rest, _ := bytes.Cut(m.body, []byte{0})
		name, _, _ := bytes.Cut(rest, []byte{0})
		s.begins = s.begins || strings.HasPrefix(s.texts[string(name)], "begin")
	case 'E': // Execute
		s.executes = true
	case 'S': // Sync
		// The rest is passed over up to the Sync, which then rolls all of it back.
		if s.operation(s.executes && !s.begins, 'I') {
			return []message{{kind: 'P', body: []byte("\x00" + OnPurpose + "\x00\x00\x00")}, m}
		}
	case 'Q': // Query
		if string(m.body) == "commit\x00" && s.operation(true, 'T') {
			return []message{{kind: 'Q', body: []byte("ROLLBACK; DO $$ BEGIN RAISE EXCEPTION '" + OnPurpose + "'; END $$\x00")}}
		}
		if string(m.body) != "commit\x00" {
			s.operation(true, 0)
		}
	}
	return []message{m}
}

// operation notes one, and reports whether it is to lose: where the transaction is in a
// state in which this commits it.
func (s *session) operation(executes bool, commits byte) bool {
	o := &operation{executes: executes, ours: executes && s.status == commits && s.times < s.way.times.Load()}
	s.asked = append(s.asked, o)
	s.executes, s.begins = false, false
	return o.ours
}

// answer looks at what comes from the database.
func (s *session) answer(m message) []message {
	s.mu.Lock()
	switch {
	case m.kind == 'E' && len(s.asked) > 0 && s.asked[0].ours && bytes.Contains(m.body, []byte(OnPurpose)):
		s.asked[0].lost = true
		code, _ := s.way.now()
		m.body = coded(m.body, code)
	case m.kind == 'Z' && !s.greeted: // ReadyForQuery
		s.greeted, s.status = true, m.body[0]
	case m.kind == 'Z':
		if s.done(m.body[0]) {
			defer s.way.happened()
		}
	}
	s.mu.Unlock()
	return []message{m}
}

// done notes the end of the oldest operation, and reports whether it lost.
func (s *session) done(status byte) bool {
	if len(s.asked) == 0 {
		return false
	}
	o := s.asked[0]
	s.asked, s.status = s.asked[1:], status
	switch {
	case o.lost:
		s.times++
	case o.executes && status == 'I':
		s.times = 0
	}
	return o.lost
}

// coded is an ErrorResponse with another code.
func coded(body []byte, code string) (out []byte) {
	for _, field := range bytes.Split(bytes.TrimRight(body, "\x00"), []byte{0}) {
		if field[0] == 'C' {
			field = []byte("C" + code)
		}
		out = append(append(out, field...), 0)
	}
	return append(out, 0)
}

// message is one of the protocol. The first of a client has no kind.
type message struct {
	kind byte
	body []byte
}

func (m message) writeTo(out *bufio.Writer) error {
	if m.kind != 0 {
		out.WriteByte(m.kind)
	}
	binary.Write(out, binary.BigEndian, uint32(len(m.body)+4))
	_, err := out.Write(m.body) // it keeps the first error
	return err
}

func readMessage(in *bufio.Reader, typed bool) (m message, err error) {
	if typed {
		if m.kind, err = in.ReadByte(); err != nil {
			return m, err
		}
	}
	var length uint32
	if err := binary.Read(in, binary.BigEndian, &length); err != nil {
		return m, err
	}
	if length < 4 || length > 1<<30 {
		return m, fmt.Errorf("a message of %d bytes", length)
	}
	m.body = make([]byte, length-4)
	_, err = io.ReadFull(in, m.body)
	return m, err
}

// pass hands on what look says of each message, until one side ends.
func pass(to, from net.Conn, typed bool, look func(m message) []message) {
	defer to.Close()
	defer from.Close()
	in, out := bufio.NewReader(from), bufio.NewWriter(to)
	for ; ; typed = true {
		m, err := readMessage(in, typed)
		if err != nil {
			return
		}
		for _, one := range look(m) {
			if one.writeTo(out) != nil {
				return
			}
		}
		if in.Buffered() == 0 && out.Flush() != nil {
			return
		}
	}
}
