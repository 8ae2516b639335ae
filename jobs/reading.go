package jobs

import (
	"fmt"
	"slices"
	"strings"
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
	over     bool   // its laser was set up again, as far as is known
	doubt    string // why its readings are in doubt
	doubtBy  string // the datum read in between that put it in doubt
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
	for _, d := range b.Datums {
		if len(known) == 0 { // the height of any of them would do
			s.setAsideFor(e, d.Datum, "none of its datums has a known height")
		}
	}
	if len(known) == 0 {
		return
	}
	plane, spread, err := levelling.Plane(known)
	if err != nil {
		s.setAside(e, err.Error())
		return
	}
	u.plane = plane
	if spread.Odd {
		u.doubt = disagree("its datums", spread)
		s.flag(e, u.doubt)
	}
	s.setups[e.ID] = u
	s.recent = append(s.recent, u)
	s.setUpAgain(u)
	for _, d := range unknown {
		h := levelling.Reduce(plane, d.Staff.MM(), u.sd)
		s.place(d.Datum).given = &figure{h.MM, h.SD}
	}
}

func disagree(who string, spread levelling.Spread) string {
	return fmt.Sprintf("%s disagree by %s mm: a datum or the laser has moved", who, levelling.FormatMM(spread.MM))
}

// setUpAgain ends the set-ups before of the same instrument, and of whoever
// opened this one: nobody is told to close a set-up, and one laser stands once.
func (s *State) setUpAgain(u *setup) {
	same := func(old *setup) bool {
		return strings.EqualFold(strings.TrimSpace(old.opened.Instrument), strings.TrimSpace(u.opened.Instrument)) ||
			(old.by == u.by && !u.by.IsZero())
	}
	s.live = slices.DeleteFunc(s.live, func(old *setup) bool {
		old.over = same(old)
		return old.over
	})
	s.live = append(s.live, u)
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
	s.live = slices.DeleteFunc(s.live, func(other *setup) bool { return other == u })
	known, _ := s.datumsOf(b.Datums, u.sd)
	if len(known) == 0 {
		return
	}
	plane, spread, err := levelling.Plane(known)
	if err != nil {
		s.setAside(e, err.Error())
		return
	}
	if by, odd := levelling.Disagrees(plane, u.plane); odd {
		s.doubtSetup(e, u, fmt.Sprintf("the closing reading puts the laser %s its opening: the %d readings between are in doubt", apart(by), u.readings))
	} else if spread.Odd {
		s.doubtSetup(e, u, disagree("its closing datums", spread))
	}
}

// doubtSetup puts all readings of a set-up in doubt, and with them the
// signatures that rest on them.
func (s *State) doubtSetup(e placed, u *setup, why string) {
	u.doubt = why
	s.flag(e, why)
	for _, id := range s.allSupports() {
		if p := s.place(id); s.setupDoubt(p.faces[p.lastly]) != "" {
			s.lapse(e, p, "the set-up it was read on is in doubt")
			s.touch(e, id)
		}
	}
}

// setupDoubt says why the set-up that a face was read on is in doubt.
func (s *State) setupDoubt(f *face) string {
	if f == nil || f.basis != WasRead {
		return ""
	}
	for _, part := range f.settled.Parts {
		id, err := events.ParseID(part.Setup)
		if u := s.setups[id]; err == nil && u != nil && u.doubt != "" {
			return u.doubt
		}
	}
	return ""
}

// inDoubt tells whether a reading of a place is in doubt.
func (s *State) inDoubt(p *place) bool {
	for _, f := range p.faces {
		if f.odd != nil || s.setupDoubt(f) != "" {
			return true
		}
	}
	return false
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
	s.stillStands(e, u, b.Point)
	u.readings++
	raw := levelling.FaceReading{Setup: u.name, Plane: u.plane, Staff: b.Staff.MM(), SD: u.sd}
	l := look{raw: raw, height: levelling.Reduce(u.plane, raw.Staff, u.sd), at: e.key.at}
	p := s.place(b.Point)
	if f := p.faces[b.Face]; u.doubt == "" && s.setupDoubt(f) != "" {
		f.forget()
	}
	if p.faces[b.Face] == nil {
		s.judging = ""
	}
	s.flagCovering(e, p, b)
	p.readOn = u
	p.take(b.Face, b.Surface, l)
	p.reads = append(p.reads, e.ID)
	s.touch(e, b.Point)
	if f := p.faces[b.Face]; f.odd != nil {
		s.flag(e, b.Point+": "+f.doubt)
	}
	s.checkSigned(e, p, p.faces[b.Face])
	s.checkDatum(e, p, u, l)
}

// flagCovering says that a target agreed on one covering is judged on another.
func (s *State) flagCovering(e placed, p *place, b *events.Reading) {
	f := p.faces[b.Face]
	if s.aim == nil || b.Face != s.judgedFace() || f == nil || f.surface == "" || b.Surface == "" || f.surface == b.Surface {
		return
	}
	s.flag(e, fmt.Sprintf("%s was read on %s, and before on %s: its target is still the one agreed before", p.id, b.Surface, f.surface))
}

// stillStands flags a reading on a set-up that is over. One whose laser was only
// thought to be set up again is live again: somebody reads on it.
func (s *State) stillStands(e placed, u *setup, point string) {
	switch {
	case u.closed:
		s.flag(e, point+" was read on a set-up that was closed before: does the laser still stand?")
	case u.over:
		s.flag(e, point+" was read on a set-up after its laser was set up again: does it still stand there?")
		u.over = false
		s.live = append(s.live, u)
	}
}

// checkDatum compares a reading on a datum with the height it is taken to have.
// When they disagree it or the laser has moved, or it was misread: then the next
// reading of it takes the doubt away.
func (s *State) checkDatum(e placed, p *place, u *setup, l look) {
	if p.given == nil {
		return
	}
	by, odd := levelling.Disagrees(l.height, levelling.Height{MM: p.given.mm, SD: p.given.sd})
	switch {
	case odd:
		p.doubted = fmt.Sprintf("reads %s the height it is taken to have", apart(by))
		u.doubtBy = p.id
		s.doubtSetup(e, u, fmt.Sprintf("%s %s: it or the laser has moved", p.id, p.doubted))
	case u.doubtBy == p.id:
		p.doubted, u.doubt, u.doubtBy = "", "", ""
		s.touch(e, s.allSupports()...)
	default:
		p.doubted = ""
	}
}

// liveFor is the set-up on which a place is read now: the only one that stands,
// or of several the one it was last read on. Otherwise nobody can tell whose
// staff is meant, and there is none.
func (s *State) liveFor(p *place) *setup {
	if len(s.live) == 1 {
		return s.live[0]
	}
	if slices.Contains(s.live, p.readOn) {
		return p.readOn
	}
	return nil
}
