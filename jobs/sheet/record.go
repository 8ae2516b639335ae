package sheet

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// record makes the events of a book. What the log has already is named by its number
// and not made again.
func (b *booker) record(rows []sighted) {
	k := newKnown(b.site.Log)
	m := &maker{booker: b, known: k, ids: map[string]events.ID{}, made: map[string]int{}}
	opened := map[string][]sighted{}
	for _, s := range rows {
		if s.sight == backSight {
			opened[s.setup] = append(opened[s.setup], s)
		}
	}
	done := map[string]bool{}
	for i := 0; i < len(rows); i++ {
		s := rows[i]
		if s.setup != "" && !done[s.setup] { // set-ups stand before what was read from them
			done[s.setup] = true
			m.open(s, opened[s.setup])
		}
		switch s.sight {
		case intermediate:
			m.reading(s)
		case foreSight:
			group := closing(rows, i)
			m.close(group)
			i += len(group) - 1
		}
	}
	number(b.site.Job, b.book.Events)
}

// number gives the events of a book the device that recorded them, one of their own:
// the same book has the same, and none is missing between its numbers.
func number(job events.ID, made []events.Event) {
	parts := []string{"device", job.String()}
	for _, e := range made {
		parts = append(parts, e.ID.String())
	}
	device := derived(parts...)
	for i := range made {
		made[i].Device, made[i].DeviceSeq = device, int64(i)+1
	}
}

// closing is the run of foresights from i on that close one set-up at one time.
func closing(rows []sighted, i int) []sighted {
	n := i + 1
	for n < len(rows) && rows[n].sight == foreSight && rows[n].setup == rows[i].setup && rows[n].at.Equal(rows[i].at) {
		n++
	}
	return rows[i:n]
}

// maker makes events, each with an id that follows from what it says.
type maker struct {
	*booker
	known *known
	ids   map[string]events.ID // of set-ups, by their name in the sheet
	made  map[string]int       // how often the same was made
}

func (m *maker) open(first sighted, sights []sighted) {
	if len(sights) == 0 {
		m.bad.add(first.line, "sight", fmt.Sprintf("set-up %s has no bs: begin it with the staff on a datum", first.setup))
		return
	}
	body := events.Setup{}
	for _, s := range sights {
		if body.Instrument == "" {
			body = s.setUp // as the first line that names the instrument says
			body.Datums = nil
		}
	}
	for _, s := range sights {
		if !s.at.Equal(sights[0].at) {
			m.bad.add(s.line, "time", fmt.Sprintf("another time than line %d: the datums of a set-up are opened together", sights[0].line))
			return
		}
		body.Datums = append(body.Datums, events.DatumReading{Datum: s.point, Staff: s.staff})
	}
	m.ids[first.setup] = m.add(events.KindSetup, &body, sights)
}

func (m *maker) close(sights []sighted) {
	if m.ids[sights[0].setup].IsZero() {
		return // what is wrong with its set-up is told
	}
	body := events.SetupClosed{Setup: m.ids[sights[0].setup]}
	for _, s := range sights {
		body.Datums = append(body.Datums, events.DatumReading{Datum: s.point, Staff: s.staff})
	}
	m.add(events.KindSetupClosed, &body, sights)
}

func (m *maker) reading(s sighted) {
	if s.setup != "" && m.ids[s.setup].IsZero() {
		return
	}
	body := events.Reading{Setup: m.ids[s.setup], Point: s.point, Face: s.face, Surface: s.surface, Staff: s.staff, Repeat: s.look, NotRead: s.notRead}
	if s.notRead == "" {
		face, cure := faceFor(s)
		if cure != "" {
			m.bad.add(s.line, m.t.heading("face"), cure)
			return
		}
		body.Face = face
	}
	m.add(events.KindReading, &body, []sighted{s})
}

// add makes one event of the lines it stands for, unless the log has it.
func (m *maker) add(kind events.Kind, body events.Body, of []sighted) events.ID {
	if bad, ok := errors.AsType[*levelling.InputError](body.Check()); ok {
		m.bad.add(lineOf(bad.Field, of), m.t.heading(columnOfField(bad.Field)), bad.Cure)
		return events.ID{}
	}
	text, err := json.Marshal(body)
	if err != nil {
		m.bad.add(of[0].line, "", err.Error())
		return events.ID{}
	}
	at := of[0].at
	if id, seq, ok := m.known.take(kind, at, text); ok {
		m.note(of, id, seq)
		return id
	}
	what := keyOf(kind, at, text)
	id := derived("event", m.site.Job.String(), what, strconv.Itoa(m.made[what]))
	m.made[what]++
	m.note(of, id, 0)
	m.book.Events = append(m.book.Events, events.Event{
		ID: id, Job: m.site.Job, Kind: kind, V: 1, At: at, By: of[0].by, Body: text,
	})
	return id
}

func (m *maker) note(of []sighted, id events.ID, seq int64) {
	for _, s := range of {
		m.book.Lines[s.place].Event, m.book.Lines[s.place].Seq = id, seq
	}
}

// lineOf is the line of a set-up that a check speaks of: datums[2].staff.
func lineOf(field string, of []sighted) int {
	var i int
	if _, err := fmt.Sscanf(field, "datums[%d]", &i); err == nil && i < len(of) {
		return of[i].line
	}
	return of[0].line
}

// columnOfField is the column of what a check speaks of.
func columnOfField(field string) string {
	var i int
	var part string
	if n, _ := fmt.Sscanf(field, "datums[%d].%s", &i, &part); n == 2 {
		field = part
	}
	if column, ok := map[string]string{"datum": "point", "sd_mm": "±", "sd_mm_per_m": "± mm per", "not_read": "not read", "datums": "sight"}[field]; ok {
		return column
	}
	return field
}

// known are the readings that a log has, by what they say.
type known struct {
	byKey map[string][]events.Stored
}

// keyOf tells what an event says: its kind, its time and its body.
func keyOf(kind events.Kind, at time.Time, body []byte) string {
	return fmt.Sprintf("%s %d %s", kind, at.UnixMilli(), body)
}

func newKnown(log []events.Stored) *known {
	k := &known{byKey: map[string][]events.Stored{}}
	for _, e := range log {
		if e.Kind != events.KindSetup && e.Kind != events.KindReading && e.Kind != events.KindSetupClosed || e.Erased {
			continue
		}
		body, err := events.Open(e.Kind, e.V, e.Body)
		if err != nil {
			continue // it is set aside, and no line of a book is like it
		}
		text, err := json.Marshal(body)
		if err != nil {
			continue
		}
		key := keyOf(e.Kind, e.At, text)
		k.byKey[key] = append(k.byKey[key], e)
	}
	return k
}

// take finds an event that says the same and was not taken before.
func (k *known) take(kind events.Kind, at time.Time, body []byte) (id events.ID, seq int64, ok bool) {
	key := keyOf(kind, at, body)
	same := k.byKey[key]
	if len(same) == 0 {
		return events.ID{}, 0, false
	}
	k.byKey[key] = same[1:]
	return same[0].ID, same[0].Seq, true
}
