package jobs

import (
	"fmt"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// setup is one standing of the laser and the height of its plane.
type setup struct {
	id       events.ID
	name     string // the id as text
	seq      int64
	opened   events.Setup
	at       time.Time
	by       events.ID
	plane    levelling.Height
	sd       float64 // of one staff reading
	closed   bool
	doubt    string
	readings int
}

// staffSD is the ± of one staff reading: what the set-up says, else the usual
// one of its method.
func staffSD(b *events.Setup) float64 {
	switch {
	case b.SDMM > 0:
		return b.SDMM
	case b.Method == events.EyeOnTape, b.Method == events.WaterLevel:
		return levelling.TapeSD
	}
	return levelling.ReceiverSD
}

// openSetup works out the plane from the datums whose height is known, and
// gives the others theirs from it.
func (s *State) openSetup(e placed, b *events.Setup) {
	u := &setup{id: e.ID, name: e.ID.String(), seq: e.Seq, opened: *b, at: e.key.at, by: e.By, sd: staffSD(b)}
	known, unknown := s.datumsOf(b.Datums, u.sd)
	if len(known) == 0 && !s.anyHeight() {
		// Nothing has a height yet: the first datum is the level all others are
		// measured from.
		s.place(b.Datums[0].Datum).given = &figure{}
		known, unknown = s.datumsOf(b.Datums, u.sd)
		s.flag(e, b.Datums[0].Datum+" has no height on the plan: it is taken as 0")
	}
	plane, spread, err := levelling.Plane(known)
	if err != nil {
		s.setAsideFor(e, b.Datums[0].Datum, "none of its datums has a known height")
		return
	}
	u.plane = plane
	if spread.Odd {
		u.doubt = fmt.Sprintf("its datums disagree by %s mm: a datum or the laser has moved", levelling.FormatMM(spread.MM))
		s.flag(e, u.doubt)
	}
	s.setups[e.ID] = u
	s.recent = append(s.recent, u)
	for _, d := range unknown {
		h := levelling.Reduce(plane, d.Staff.MM(), u.sd)
		s.place(d.Datum).given = &figure{h.MM, h.SD}
	}
}

// datumsOf splits the datum readings of a set-up into those on a known height
// and the others. Any place that was read can be a datum: that is a change point.
func (s *State) datumsOf(readings []events.DatumReading, sd float64) (known []levelling.DatumReading, unknown []events.DatumReading) {
	for _, r := range readings {
		if h, ok := s.datumHeight(r.Datum); ok {
			known = append(known, levelling.DatumReading{Datum: h, Staff: r.Staff.MM(), SD: sd})
		} else {
			unknown = append(unknown, r)
		}
	}
	return known, unknown
}

func (s *State) datumHeight(id string) (levelling.Height, bool) {
	p := s.place(id)
	if p.given != nil {
		return levelling.Height{MM: p.given.mm, SD: p.given.sd}, true
	}
	if f := p.faces[p.lastly]; f != nil {
		return f.present(), true
	}
	return levelling.Height{}, false
}

func (s *State) anyHeight() bool {
	for _, p := range s.places {
		if p.given != nil {
			return true
		}
	}
	return false
}

// closeSetup compares the closing datum readings with the plane. When they
// disagree, every reading in between is in doubt.
func (s *State) closeSetup(e placed, b *events.SetupClosed) {
	u := s.setup(b.Setup)
	if u == nil {
		s.setAsideFor(e, b.Setup.String(), "its set-up is not in the log yet")
		return
	}
	u.closed = true
	known, _ := s.datumsOf(b.Datums, u.sd)
	if len(known) == 0 {
		return
	}
	plane, _, err := levelling.Plane(known)
	if err != nil {
		s.setAside(e, err.Error())
		return
	}
	by, odd := levelling.Disagrees(plane, u.plane)
	if !odd {
		return
	}
	u.doubt = fmt.Sprintf("the closing reading puts the laser %s its opening: the %d readings between are in doubt", apart(by), u.readings)
	s.flag(e, u.doubt)
}

// setup finds a set-up by its id, applying it first if a clock that runs
// behind put its reading before it.
func (s *State) setup(id events.ID) *setup {
	s.pull(id)
	return s.setups[id]
}

func (s *State) read(e placed, b *events.Reading) {
	if b.NotRead != "" {
		s.list(e, b)
		return
	}
	u := s.setup(b.Setup)
	if u == nil {
		s.setAsideFor(e, b.Setup.String(), "its set-up is not in the log yet, or does not count")
		return
	}
	if u.closed {
		s.flag(e, b.Point+" was read on a set-up that was closed before: does the laser still stand?")
	}
	u.readings++
	raw := levelling.FaceReading{Setup: u.name, Plane: u.plane, Staff: b.Staff.MM(), SD: u.sd}
	l := look{raw: raw, height: levelling.Reduce(u.plane, raw.Staff, u.sd), at: e.key.at}
	p := s.place(b.Point)
	p.take(b.Face, b.Surface, l)
	p.reads = append(p.reads, e.ID)
	s.touch(e, b.Point)
	if f := p.faces[b.Face]; f.odd != nil {
		s.flag(e, b.Point+": "+f.doubt)
	}
	s.checkSigned(e, p, p.faces[b.Face])
	s.checkDatum(e, p, l)
}

// checkDatum compares a reading on a datum with the height it is taken to have.
func (s *State) checkDatum(e placed, p *place, l look) {
	if p.given == nil {
		return
	}
	by, odd := levelling.Disagrees(l.height, levelling.Height{MM: p.given.mm, SD: p.given.sd})
	if !odd {
		return
	}
	p.doubted = fmt.Sprintf("reads %s the height it is taken to have", apart(by))
	s.flag(e, p.id+" "+p.doubted)
}

// live is the set-up that stands now: the last one opened, while it is not closed.
func (s *State) live() *setup {
	if len(s.recent) == 0 {
		return nil
	}
	u := s.recent[len(s.recent)-1]
	if u.closed {
		return nil
	}
	return u
}
