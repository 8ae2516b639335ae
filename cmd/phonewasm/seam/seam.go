// Package seam is what the phone's worker calls: the fold and the calculators,
// JSON in and JSON out, the same code as the server's. It keeps the books of the
// jobs that were opened, in memory; whoever calls keeps the events.
//
// An answer is the value asked for, or {"error":{"field"?,"detail"}}.
package seam

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/levelling/calc"
)

// Seam holds the books. It is not safe for concurrent use; a worker is one thread.
type Seam struct {
	books map[events.ID]*book
}

// New returns a seam without books.
func New() *Seam { return &Seam{books: map[events.ID]*book{}} }

// calls are the names that Call knows.
var calls = map[string]func(*Seam, []byte) (any, error){
	"take": (*Seam).take, "record": (*Seam).record, "state": (*Seam).state, "figures": (*Seam).figures,
	"carrying": (*Seam).carrying, "packers": (*Seam).packers, "forget": (*Seam).forget, "calc": (*Seam).calc,
}

// Names lists what can be called.
func Names() []string {
	var names []string
	for name := range calls {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// failure is an answer that is no value.
type failure struct {
	Error problem `json:"error"`
}

type problem struct {
	Field  string `json:"field,omitempty"`
	Detail string `json:"detail"`
}

// Call answers one request. It never panics: a worker that died would take the
// figures of every open job with it.
func (s *Seam) Call(name string, request []byte) (answer []byte) {
	defer func() {
		if recover() != nil {
			answer = refused(errors.New("the figures could not be reckoned"))
		}
	}()
	call, known := calls[name]
	if !known {
		return refused(levelling.Bad("name", "one of "+strings.Join(Names(), ", ")))
	}
	value, err := call(s, request)
	if err != nil {
		return refused(err)
	}
	answer, err = json.Marshal(value)
	if err != nil {
		return refused(err)
	}
	return answer
}

func refused(err error) []byte {
	p := problem{Detail: err.Error()}
	if bad := (*levelling.InputError)(nil); errors.As(err, &bad) {
		p = problem{Field: bad.Field, Detail: bad.Cure}
	}
	answer, err := json.Marshal(failure{p})
	if err != nil {
		return []byte(`{"error":{"detail":"the answer could not be written"}}`)
	}
	return answer
}

// asked is what a request may say; each call reads what it needs.
type asked struct {
	Job     events.ID         `json:"job"`
	Now     time.Time         `json:"now"`
	Events  []json.RawMessage `json:"events"`
	Names   []string          `json:"names"`
	Support string            `json:"support"`
	MoveMM  float64           `json:"move_mm"`
	Name    string            `json:"name"`
	Input   json.RawMessage   `json:"input"`

	Practice jobs.Practice `json:"practice"`
}

func read(request []byte) (a asked, err error) {
	if err := json.Unmarshal(request, &a); err != nil {
		return a, levelling.Bad("request", "a JSON object; "+err.Error())
	}
	return a, nil
}

// open reads a request and returns its book.
func (s *Seam) open(request []byte) (asked, *book, error) {
	a, err := read(request)
	if err != nil {
		return a, nil, err
	}
	if a.Job.IsZero() {
		return a, nil, levelling.Bad("job", "missing: the id of the job")
	}
	b := s.books[a.Job]
	if b == nil {
		b = newBook(a.Job)
		s.books[a.Job] = b
	}
	return a, b, nil
}

// take adds events as the server lists them: {"seq","recorded_at","event"}. One
// that this phone recorded and had not sent is known by its id, and gets its
// number.
func (s *Seam) take(request []byte) (any, error) {
	a, b, err := s.open(request)
	if err != nil {
		return nil, err
	}
	for _, raw := range a.Events {
		if err := b.take(raw); err != nil {
			return nil, err
		}
	}
	return b.counts(), nil
}

// record adds events as this phone sealed them, which the server has not yet. They
// count in the figures at once.
func (s *Seam) record(request []byte) (any, error) {
	a, b, err := s.open(request)
	if err != nil {
		return nil, err
	}
	for _, raw := range a.Events {
		if err := b.record(raw); err != nil {
			return nil, err
		}
	}
	return b.counts(), nil
}

func (s *Seam) state(request []byte) (any, error) {
	a, b, err := s.open(request)
	if err != nil {
		return nil, err
	}
	return b.fold().Picture(a.Now), nil
}

func (s *Seam) figures(request []byte) (any, error) {
	a, b, err := s.open(request)
	if err != nil {
		return nil, err
	}
	return b.fold().Figures(a.Now, a.Names...), nil
}

func (s *Seam) carrying(request []byte) (any, error) {
	a, b, err := s.open(request)
	if err != nil {
		return nil, err
	}
	c, known := b.fold().Carrying(a.Support, a.MoveMM)
	if !known {
		return nil, levelling.Bad("support", "one under a bearer of the plan")
	}
	return c, nil
}

func (s *Seam) packers(request []byte) (any, error) {
	a, b, err := s.open(request)
	if err != nil {
		return nil, err
	}
	if err := a.Practice.Check(); err != nil {
		return nil, err
	}
	list := b.fold().CuttingList(a.Practice.Packers(), a.Now)
	if list == nil {
		list = []jobs.Cutting{}
	}
	return list, nil
}

// forget closes a book.
func (s *Seam) forget(request []byte) (any, error) {
	a, err := read(request)
	if err != nil {
		return nil, err
	}
	delete(s.books, a.Job)
	return map[string]any{}, nil
}

func (s *Seam) calc(request []byte) (any, error) {
	a, err := read(request)
	if err != nil {
		return nil, err
	}
	answer, err := calc.Run(a.Name, a.Input)
	return json.RawMessage(answer), err
}
