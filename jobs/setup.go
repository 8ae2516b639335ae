package jobs

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// setup is one standing of the laser.
type setup struct {
	id       events.ID
	seq      int64
	opened   events.Setup
	at       time.Time
	by       events.ID
	plane    levelling.Unknown // the height of its beam
	stood    levelling.Height  // the same, once it is no longer reckoned with
	gone     bool              // and then so it is
	byDatums levelling.Height  // the same, as its datums alone gave it
	sd       float64           // of one staff reading
	closed   bool
	over     bool   // its laser was set up again, as far as is known
	doubt    string // why its readings are in doubt
	doubtBy  string // the datum read in between that put it in doubt
	readings int
}

// maxPlanes is how many planes are reckoned with at once. A reading on one that
// was let go takes it up again, as if it were independent of all others.
const maxPlanes = 6

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

// sighted is a datum's staff reading on a set-up, and the height that is known of
// the datum.
type sighted struct {
	at    *place
	state levelling.Unknown
	staff float64
	sd    float64
}

// openSetup works out the plane from the datums whose height is known, and
// gives the others theirs from it.
func (s *State) openSetup(e placed, b *events.Setup) {
	u := &setup{id: e.ID, seq: e.Seq, opened: *b, at: e.key.at, by: e.By, sd: staffSD(b)}
	known, unknown := s.sightDatums(u, b.Datums)
	if len(known) == 0 && !s.anyHeight() {
		// Nothing has a height yet: the first datum is the level all others are
		// measured from.
		s.place(b.Datums[0].Datum).hold(levelling.Height{})
		known, unknown = s.sightDatums(u, b.Datums)
		s.flag(e, b.Datums[0].Datum+" has no height on the plan: it is taken as 0")
	}
	if len(known) == 0 {
		for _, d := range b.Datums { // the height of any of them would do
			s.setAsideFor(e, d.Datum, "nothing it was read on has a known height")
		}
		return
	}
	s.setups[e.ID] = u
	s.recent = append(s.recent, u)
	s.standOn(e, u, known)
	u.byDatums = s.filter.Height(u.plane)
	s.setUpAgain(u)
	for _, d := range unknown {
		s.learnDatum(e, u, d)
	}
}

// learnDatum gives a datum its height by a set-up. One that the set-up writes down
// twice has it by then.
func (s *State) learnDatum(e placed, u *setup, d sighted) {
	if d.at.given == nil {
		d.at.given = &ownHeight{state: s.filter.Enter(u.plane, -d.staff, d.sd), moves: d.at.moves}
		return
	}
	d.state = d.at.given.state
	if _, odd := s.filter.Test(u.plane, d.state, d.staff, d.sd); odd {
		s.doubtDatum(e, u, d)
		return
	}
	s.filter.Observe(u.plane, d.state, d.staff, d.sd)
}

// standOn enters the plane of a set-up by the datum that agrees with the most
// others, and takes in those that agree with it. Where as many disagree, nobody
// can tell which of them or whether the laser has moved: the plane is in doubt,
// and of two the higher one is taken, which asks for the smaller lift.
func (s *State) standOn(e placed, u *setup, known []sighted) {
	first, worst := s.lead(known)
	u.plane = s.filter.Enter(known[first].state, known[first].staff, known[first].sd)
	s.planes = append(s.planes, u)
	s.letGo()
	agreed, against := []sighted{known[first]}, []sighted(nil)
	for i, k := range known {
		if i == first {
			continue
		}
		if _, odd := s.filter.Test(u.plane, k.state, k.staff, k.sd); odd {
			against = append(against, k)
		} else {
			s.filter.Observe(u.plane, k.state, k.staff, k.sd)
			agreed = append(agreed, k)
		}
	}
	switch {
	case 2*len(against) < len(known):
		for _, k := range agreed {
			if slices.ContainsFunc(agreed, func(other sighted) bool { return other.at != k.at }) {
				k.at.agrees() // whatever an earlier set-up had against it
			}
		}
		for _, k := range against {
			s.doubtDatum(e, u, k)
		}
	default:
		u.doubt = disagree("its datums", worst)
		s.flagReckoned(e, u.doubt)
		s.filter.Move([]levelling.Unknown{u.plane}, 0, worst)
	}
}

// lead picks the datum whose plane agrees with the most others, of several the
// highest plane, and says how far the worst two that disagree are apart.
func (s *State) lead(known []sighted) (first int, worst float64) {
	most, top := -1, 0.0
	for i, a := range known {
		agree := 0
		for _, b := range known {
			by, odd := s.filter.Test(a.state, b.state, b.staff-a.staff, rss(a.sd, b.sd))
			if odd {
				worst = math.Max(worst, math.Abs(by))
			} else {
				agree++
			}
		}
		plane := s.filter.Height(a.state).MM + a.staff
		if agree > most || (agree == most && plane > top) {
			first, most, top = i, agree, plane
		}
	}
	return first, worst
}

// rss is the standard deviation of a sum of two independent parts.
func rss(a, b float64) float64 { return math.Sqrt(float64(a*a) + float64(b*b)) }

// letGo lets the oldest planes go once there are too many: those that are over
// first. The last one was just taken up, and stays.
func (s *State) letGo() {
	for len(s.planes) > maxPlanes {
		before := s.planes[:len(s.planes)-1]
		i := max(0, slices.IndexFunc(before, func(u *setup) bool { return u.closed || u.over }))
		u := s.planes[i]
		s.planes = slices.Delete(s.planes, i, i+1)
		u.stood, u.gone = s.filter.Height(u.plane), true
		s.filter.Drop(u.plane)
	}
}

// stand makes sure that a set-up's plane is reckoned with.
func (s *State) stand(u *setup) {
	if u.gone {
		u.plane, u.gone = s.filter.Hold(u.stood), false
		s.planes = append(s.planes, u)
		s.letGo()
	}
}

// planeOf is the height of a set-up's plane as it is known now.
func (s *State) planeOf(u *setup) levelling.Height {
	if u.gone {
		return u.stood
	}
	return s.filter.Height(u.plane)
}

func disagree(who string, by float64) string {
	return fmt.Sprintf("%s disagree by %s mm: a datum or the laser has moved", who, levelling.FormatMM(by))
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

// sightDatums splits the datum readings of a set-up into those on a known height
// and the others. Any place that was read can be a datum: that is a change point.
func (s *State) sightDatums(u *setup, readings []events.DatumReading) (known, unknown []sighted) {
	for _, r := range readings {
		p := s.place(r.Datum)
		k := sighted{at: p}
		k.staff, k.sd = s.sight(u, p, r.Staff.MM())
		var ok bool
		if k.state, ok = p.reference(); ok {
			known = append(known, k)
		} else {
			unknown = append(unknown, k)
		}
	}
	return known, unknown
}

// reference is the unknown that a set-up stands on at a place: a datum's own
// height, else that of the face read last.
func (p *place) reference() (levelling.Unknown, bool) {
	if p.given != nil {
		p.given.moves = p.moves
		return p.given.state, true
	}
	if f := p.faces[p.lastly]; f != nil {
		return f.state, true
	}
	return 0, false
}

func (s *State) anyHeight() bool {
	for _, p := range s.places {
		if p.given != nil || len(p.faces) > 0 {
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
	s.stand(u)
	u.closed = true
	s.live = slices.DeleteFunc(s.live, func(other *setup) bool { return other == u })
	known, _ := s.sightDatums(u, b.Datums)
	if why := s.closing(u, known); why != "" {
		s.doubtSetup(e, u, why)
		return
	}
	for _, k := range known {
		s.filter.Observe(u.plane, k.state, k.staff, k.sd)
	}
}

// openedAndClosed takes the mean of the opening and the closing reading of every
// datum that has both: what one pair of readings leaves open, two can tell.
func (s *State) openedAndClosed(u *setup, closing []sighted) (both []sighted) {
	opening, _ := s.sightDatums(u, u.opened.Datums)
	for _, k := range closing {
		i := slices.IndexFunc(opening, func(o sighted) bool { return o.at == k.at })
		if i >= 0 {
			k.staff = (k.staff + opening[i].staff) / 2
			k.sd = rss(k.sd, opening[i].sd) / 2
			both = append(both, k)
		}
	}
	return both
}

// closing says what the closing readings have against a set-up.
func (s *State) closing(u *setup, known []sighted) string {
	if _, worst := s.lead(known); worst > 0 {
		return disagree("its closing datums", worst)
	}
	if _, worst := s.lead(s.openedAndClosed(u, known)); worst > 0 {
		return disagree("its datums, opening and closing taken together,", worst)
	}
	for _, k := range known {
		if by, odd := s.filter.Test(u.plane, k.state, k.staff, k.sd); odd {
			return fmt.Sprintf("the closing reading puts the laser %s its opening: the %d readings between are in doubt", apart(by), u.readings)
		}
	}
	return ""
}

// doubtSetup puts all readings of a set-up in doubt, and with them the
// signatures that rest on them.
func (s *State) doubtSetup(e placed, u *setup, why string) {
	u.doubt, u.doubtBy = why, ""
	s.flagReckoned(e, why)
	for _, id := range s.allSupports() {
		if p := s.place(id); s.setupDoubt(p.faces[p.lastly]) != "" {
			s.lapse(e, p, "the set-up it was read on is in doubt")
			s.touch(e, id)
		}
	}
}

// setupDoubt says why the set-up that a face was read on is in doubt.
func (s *State) setupDoubt(f *face) string {
	if f == nil {
		return ""
	}
	for _, u := range f.on {
		if u.doubt != "" {
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
