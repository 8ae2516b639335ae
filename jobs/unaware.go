package jobs

import (
	"fmt"
	"math"
	"slices"

	"relevel/events"
)

// figure is what was left to go at a place after one event there, and who
// recorded that.
type figure struct {
	seq    int64
	device events.ID
	mm     float64
}

// maxFigures bounds how many are kept of one place: more than a crew records at
// one support while another phone is out of signal makes it unknown what that
// one showed, and nothing is said.
const maxFigures = 8

// unaware is by how much a figure must differ from what was acted on, mm: the
// least that a screen shows.
const unaware = 1.0

// keepFigure notes what is to go at a place from an event on. One that leaves the
// figure alone, such as packing, tells nothing of what its device showed.
func (s *State) keepFigure(e placed, p *place) {
	r, known := s.remaining(p)
	if !known || p.sort != support {
		return
	}
	if n := len(p.figures); n > 0 && p.figures[n-1].mm == r.MM && e.Kind != events.KindReading {
		return
	}
	if len(p.figures) == maxFigures {
		p.figures = slices.Delete(p.figures, 0, 1)
	}
	p.figures = append(p.figures, figure{e.Seq, e.Device, r.MM})
}

// watchUnaware flags what was done at a support by a figure that another device
// had overtaken already: whoever did it had not heard of that. It is asked before
// the event is applied.
func (s *State) watchUnaware(e placed, body events.Body) {
	for _, name := range actedAt(body) {
		p := s.place(name)
		had, is, differ := p.overtaken(e)
		if unordered(p.last, act{placed: e, clock: s.clockError(e)}) {
			continue // which came first is not known: that is said instead
		}
		if !differ || math.Abs(had-is) < unaware {
			continue
		}
		s.flagReckoned(e, fmt.Sprintf("%s: done with %s mm to go on that screen, when another device had recorded what leaves %s mm: read it again", name, mmWords(had), mmWords(is)))
	}
}

// actedAt are the supports at which an event acts on what is to go there.
func actedAt(body events.Body) []string {
	switch b := body.(type) {
	case *events.Jacking, *events.JackDown:
		return body.Points()
	case *events.Packing:
		if b.Sort == events.Final {
			return body.Points()
		}
	}
	return nil
}

// overtaken returns the last figure at a place that a device can have shown when
// it recorded an event, and the last there was. It is false when they are the
// same, or when it is not known what that device showed.
func (p *place) overtaken(e placed) (had, is float64, differ bool) {
	for i, f := range slices.Backward(p.figures) {
		if f.device == e.Device || f.seq <= e.SeenSeq {
			last := len(p.figures) - 1
			return f.mm, p.figures[last].mm, i < last
		}
	}
	return 0, 0, false
}
