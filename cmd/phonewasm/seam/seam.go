// Package seam is what the phone's worker calls: the fold, the drawings and the
// calculators, JSON in and JSON out, the same code as the server's. It keeps the books of the
// jobs that were opened, in memory; whoever calls keeps the events.
//
// An answer is the value asked for, or {"error":{"field"?,"detail"}}.
package seam

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// Seam holds the books. It is not safe for concurrent use; a worker is one thread.
type Seam struct {
	books map[events.ID]*book
}

// New returns a seam without books.
func New() *Seam { return &Seam{books: map[events.ID]*book{}} }

// calls are the names that Call knows.
var calls = map[string]func(*Seam, asked) (any, error){
	"take": onBook(take), "record": onBook(record), "drop": onBook(drop), "state": onBook(state), "figures": onBook(figures),
	"lines": onBook(lines), "carrying": onBook(carrying), "choices": onBook(choices), "packers": onBook(packers),
	"floor": onBook(floor), "section": onBook(section), "line": onBook(line),
	"forget": (*Seam).forget, "calc": (*Seam).calc,
}

// Names lists what can be called.
func Names() []string { return slices.Sorted(maps.Keys(calls)) }

// failure is an answer that is no value.
type failure struct {
	Error problem `json:"error"`
}

type problem struct {
	Field  string `json:"field,omitempty"`
	Detail string `json:"detail"`
}

// errBroken is the answer where the reckoning itself went wrong. No book is
// trusted after that.
var errBroken = errors.New("the figures could not be reckoned; every book was let go, take the events again")

// Call answers one request. It never panics: a worker that died would take the
// figures of every open job with it.
func (s *Seam) Call(name string, request []byte) (answer []byte) {
	defer func() {
		if recover() != nil {
			clear(s.books)
			answer = refused(errBroken)
		}
	}()
	call, known := calls[name]
	if !known {
		return refused(levelling.Bad("name", "one of "+strings.Join(Names(), ", ")))
	}
	var a asked
	if err := json.Unmarshal(request, &a); err != nil {
		return refused(levelling.Bad("request", "a JSON object; "+err.Error()))
	}
	value, err := call(s, a)
	if err != nil {
		return refused(err)
	}
	answer, err = written(value)
	if err != nil {
		return refused(err)
	}
	return answer
}

// written is a value as JSON. No answer stands in a page as it is, so < and > are
// left as they are: a drawing would be half as long again.
func written(value any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(value)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

func problemOf(err error) problem {
	if bad, ok := errors.AsType[*levelling.InputError](err); ok {
		return problem{Field: bad.Field, Detail: bad.Cure}
	}
	return problem{Detail: err.Error()}
}

func refused(err error) []byte {
	answer, err := json.Marshal(failure{problemOf(err)})
	if err != nil {
		return []byte(`{"error":{"detail":"the answer could not be written"}}`)
	}
	return answer
}

// onBook makes a call of what looks into one job's book, which is opened by the
// first call that names it.
func onBook(look func(*book, asked) (any, error)) func(*Seam, asked) (any, error) {
	return func(s *Seam, a asked) (any, error) {
		if a.Job.IsZero() {
			return nil, levelling.Bad("job", "missing: the id of the job")
		}
		b := s.books[a.Job]
		if b == nil {
			b = newBook(a.Job)
			s.books[a.Job] = b
		}
		if err := b.speak(a.Units, a.Region); err != nil {
			return nil, err
		}
		return look(b, a)
	}
}
