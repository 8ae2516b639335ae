package seam

import (
	"cmp"
	"encoding/json"
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// book is one job as a phone knows it: what the server numbered, and this
// phone's own events that have no number yet.
//
// An own event is folded as if the server received it next, after all that it
// has numbered: it is lent the number after the last and a time of receipt. Its
// place among the others does not depend on either, since that goes by site time;
// they only say what somebody else can have seen of it, and whether its clock is
// ahead. When its number comes, or another event takes the number it was lent,
// what is lent is reckoned anew from the state of what is numbered.
type book struct {
	job      events.ID
	all      map[events.ID]events.Stored // numbered
	seq      int64                       // the greatest number of the server's
	heard    time.Time                   // the latest receipt by the server
	numbered *jobs.Replay                // of all
	own      []events.Stored             // without number, in the order they were recorded
	ahead    *jobs.Replay                // of all and own; nil when it is to be reckoned anew
	offsets  offsets
	looked   *look // nil when the book has changed since
	units    levelling.Unit
	words    jobs.Words
}

// look is the picture of a book at a time. After an event the page asks for the
// state and for several drawings, all of them as of the same time.
type look struct {
	at      time.Time
	picture jobs.Picture
}

func newBook(job events.ID) *book {
	return &book{job: job, all: map[events.ID]events.Stored{}, numbered: jobs.NewReplay(job), offsets: offsets{}}
}

// counts is what a book holds, and what was not taken into it.
type counts struct {
	Seq     int64     `json:"seq"`
	Unsent  int       `json:"unsent"`
	Refused []refusal `json:"refused,omitempty"`
}

// refusal is one event of a request that has no place in the book.
type refusal struct {
	Index int `json:"index"`
	problem
}

// each hands over events one by one, after which the book is looked at anew. What is wrong with one of them keeps out no
// other.
func (b *book) each(list []json.RawMessage, add func(json.RawMessage) error) counts {
	b.looked = nil
	var refused []refusal
	for i, raw := range list {
		if err := add(raw); err != nil {
			refused = append(refused, refusal{i, problemOf(err)})
		}
	}
	return counts{b.seq, len(b.own), refused}
}

// listed is one event as the server lists it. Of an erased one only the line of
// the book is left.
type listed struct {
	Seq        int64           `json:"seq"`
	RecordedAt time.Time       `json:"recorded_at"`
	Event      json.RawMessage `json:"event"`
	Line       jobs.Line       `json:"line"`
	Erased     bool            `json:"erased"`
}

// take adds an event that has its number.
func (b *book) take(raw json.RawMessage) error {
	var l listed
	if err := json.Unmarshal(raw, &l); err != nil {
		return levelling.Bad("events", "as the server lists them; "+err.Error())
	}
	if l.Seq < 1 {
		return levelling.Bad("seq", "missing: the server's number, from 1")
	}
	e, err := b.stored(l)
	if err != nil {
		return err
	}
	if _, known := b.all[e.ID]; known {
		return nil
	}
	b.all[e.ID] = e
	b.seq = max(b.seq, e.Seq)
	if e.RecordedAt.After(b.heard) {
		b.heard = e.RecordedAt
	}
	b.offsets.learn(e.Event)
	b.numbered.Add(e)
	b.ahead = nil
	b.own = slices.DeleteFunc(b.own, func(o events.Stored) bool { return o.ID == e.ID })
	return nil
}

// stored is the event that was listed. An erased one is known by its id alone: it
// is dated by its receipt, and stands for a device of its own, so that it moves
// the clock of none.
func (b *book) stored(l listed) (events.Stored, error) {
	e := events.Stored{Seq: l.Seq, RecordedAt: l.RecordedAt, Erased: l.Erased}
	if l.Erased && len(l.Event) == 0 {
		if l.Line.ID.IsZero() {
			return e, levelling.Bad("line.id", "missing: the id of what was erased")
		}
		e.Event = events.Event{ID: l.Line.ID, Job: b.job, Kind: l.Line.Kind, At: l.RecordedAt, Device: l.Line.ID}
		return e, nil
	}
	var err error
	e.Event, err = b.receive(l.Event)
	return e, err
}

// record adds an own event, or puts it in the place of the same one as it was
// before its photos were sealed into it.
func (b *book) record(raw json.RawMessage) error {
	e, err := b.receive(raw)
	if err != nil {
		return err
	}
	if _, known := b.all[e.ID]; known {
		return nil
	}
	if b.offsets.learn(e) {
		b.ahead = nil
	}
	if i := slices.IndexFunc(b.own, func(o events.Stored) bool { return o.ID == e.ID }); i >= 0 {
		b.own[i].Event, b.ahead = e, nil
		return nil
	}
	b.own = append(b.own, events.Stored{Event: e})
	if b.ahead != nil {
		b.lend(len(b.own) - 1)
		b.ahead.Add(b.own[len(b.own)-1])
	}
	return nil
}

// drop takes away an own event that the server put into quarantine.
func (b *book) drop(id events.ID) {
	n := len(b.own)
	b.own = slices.DeleteFunc(b.own, func(o events.Stored) bool { return o.ID == id })
	if len(b.own) != n {
		b.ahead = nil
	}
}

func (b *book) receive(raw json.RawMessage) (events.Event, error) {
	in, err := events.Receive(raw)
	switch {
	case err != nil:
		return in.Event, err
	case in.Event.Job != b.job:
		return in.Event, levelling.Bad("job", "another one than the book's")
	}
	return in.Event, nil
}

// lend gives an own event the number and the receipt of the next one there would
// be: after all before it, and not before its own time.
func (b *book) lend(i int) {
	e := &b.own[i]
	e.Seq, e.RecordedAt = b.seq+1+int64(i), b.heard
	if i > 0 {
		e.RecordedAt = b.own[i-1].RecordedAt
	}
	if at := b.offsets.correct(e.Event); at.After(e.RecordedAt) {
		e.RecordedAt = at
	}
}

// speak has what is answered from now on written in a unit, mm where none is named, and
// in the words of a region, those of the code where none is.
func (b *book) speak(u levelling.Unit, r jobs.Region) error {
	if u == "" {
		u = levelling.Millimetre
	}
	if !slices.Contains(levelling.Displayed(), u) {
		return levelling.Bad("units", "mm, in or ft")
	}
	var words jobs.Words
	if r.Known() {
		words = r.Words()
	} else if r != "" {
		return levelling.Bad("region", "AU, NZ, UK or US")
	}
	if u != b.units || words != b.words {
		b.units, b.words, b.looked = u, words, nil
	}
	return nil
}

// state is that of all of it, which speaks what was asked for.
func (b *book) state() *jobs.State {
	s := b.latest().State()
	s.Speak(jobs.Speech{Units: b.units, Words: b.words})
	return s
}

func (b *book) latest() *jobs.Replay {
	if len(b.own) == 0 {
		return b.numbered
	}
	if b.ahead == nil {
		ahead := b.numbered.Clone()
		for i := range b.own {
			b.lend(i)
			ahead.Add(b.own[i])
		}
		b.ahead = ahead
	}
	return b.ahead
}

// picture is the state as of a time; no caller changes it. The fold puts a time
// into the zone of the site, so one instant gives one picture.
func (b *book) picture(now time.Time) jobs.Picture {
	if b.looked == nil || !b.looked.at.Equal(now) {
		b.looked = &look{now, b.state().Picture(now)}
	}
	return b.looked.picture
}

// lines are the last of the book in the order of their numbers.
func (b *book) lines(limit int) []jobs.Line {
	state := b.state() // lends the numbers
	list := slices.Clone(b.own)
	for _, e := range b.all {
		list = append(list, e)
	}
	slices.SortFunc(list, func(a, b events.Stored) int { return cmp.Compare(a.Seq, b.Seq) })
	out := []jobs.Line{}
	for _, e := range list[max(0, len(list)-limit):] {
		out = append(out, state.Line(e))
	}
	return out
}
