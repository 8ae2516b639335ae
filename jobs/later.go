package jobs

import (
	"math"
	"slices"
	"time"

	"relevel/events"
	"relevel/levelling"
)

// After the job the same places are read again, weeks and months later, to see
// whether they are still moving. What counts is what each visit read for
// itself: the estimates of the filter lean on one another, and on the readings
// before.

// perMonth is how much a place may have moved in a month, as a standard
// deviation, mm. There is no published rate; it is an assumption of ours, made so
// that the most that clay is said to move with a season, 75 mm in half a year,
// passes as just not odd. A reading of a year ago then never outweighs one of
// today.
const perMonth = 4.0

// longAgo is the time between two readings of a place from which they are no
// longer of one height.
const longAgo = 7 * 24 * time.Hour

const day = 24 * time.Hour

// letTimePass allows for what time may have done to a place since it was last
// read, once the job is handed over: all its faces alike, since they stand on
// one another.
func (s *State) letTimePass(p *place, now time.Time) {
	last := p.lastRead()
	if s.handed.IsZero() || last.IsZero() || now.Sub(last) < longAgo {
		return
	}
	all := p.together()
	if f := p.faces[events.SupportFace]; f != nil {
		all = f.add(all)
	}
	p.filter.Move(all, 0, perMonth*daysBetween(last, now)/levelling.DaysPerMonth)
}

func (p *place) lastRead() time.Time {
	var last time.Time
	for _, f := range p.faces {
		if f.at.After(last) {
			last = f.at
		}
	}
	return last
}

// daysBetween counts days without the limits of a Duration.
func daysBetween(from, to time.Time) float64 {
	return float64(to.Unix()-from.Unix()) / day.Seconds()
}

// handOver begins to watch for movement. The readings of that day, which the
// owner saw, are the first.
func (s *State) handOver(e placed) {
	s.handed = e.key.at
	for _, p := range s.places {
		for _, f := range p.faces {
			f.later.visits = slices.DeleteFunc(f.later.visits, func(v visit) bool { return !sameDay(v.at, s.handed) })
		}
	}
}

// sameDay tells whether two times are of one date, each in its own zone.
func sameDay(a, b time.Time) bool {
	ay, am, ad := a.Date()
	by, bm, bd := b.Date()
	return ad == bd && am == bm && ay == by
}

// visits are what was read of one face since it last moved, oldest first. A
// face with another covering is another face, and starts without any.
type visits struct {
	moves  int // that it had when they began
	visits []visit
	odd    *visit // kept apart until the next reading decides
}

// visit is the mean of the readings of one day on one set-up.
type visit struct {
	on    *setup
	at    time.Time // of the first
	n     int
	sum   float64 // of their heights, mm
	noise float64 // of their variances
}

// maxVisits bounds what is kept of one face.
const maxVisits = 60

// visited keeps a reading that the face has just taken. An odd one waits: it
// counts once the next one bears it out.
func (s *State) visited(p *place, f *face, l look) {
	if moves := s.movesAt(p); f.later.moves != moves {
		f.later = visits{moves: moves}
	}
	v := visit{on: l.on, at: l.at, n: 1, sum: l.on.byDatums.MM - l.staff, noise: float64(l.sd * l.sd)}
	if f.odd != nil {
		f.later.odd = &v
		return
	}
	reopened := f.doubt != ""
	if odd := f.later.odd; odd != nil && reopened {
		f.later.add(*odd)
	}
	f.later.odd = nil
	f.later.add(v)
}

func (v *visits) add(one visit) {
	for i, old := range v.visits {
		if old.on == one.on && sameDay(old.at, one.at) {
			v.visits[i].n++
			v.visits[i].sum += one.sum
			v.visits[i].noise += one.noise
			return
		}
	}
	v.visits = append(v.visits, one)
	if len(v.visits) > maxVisits {
		v.thin()
	}
}

// thin drops the visit that is missed least: the one whose neighbours are
// closest in time. The first and the last stay, and the rest spread evenly.
func (v *visits) thin() {
	least, gap := 1, math.Inf(1)
	for i := 1; i < len(v.visits)-1; i++ {
		if g := daysBetween(v.visits[i-1].at, v.visits[i+1].at); g < gap {
			least, gap = i, g
		}
	}
	v.visits = slices.Delete(v.visits, least, least+1)
}

// movesAt counts what may have moved a place. Which supports carry a spot
// nobody knows: any move may have moved it.
func (s *State) movesAt(p *place) int {
	if p.sort == spot {
		return s.shifts
	}
	return p.moves
}

// watchedFrom is when a place was left to itself: the hand-over, or what moved it
// after that. It is the zero time for a place that nothing moved on a job that
// was not handed over.
func (s *State) watchedFrom(p *place) time.Time {
	from := p.work.lastMove
	if p.sort == spot {
		from = s.shiftedAt
	}
	if s.handed.After(from) {
		return s.handed
	}
	return from
}

// readings are the heights of each day, and their ±. That of the plane is shared
// by all readings of a set-up, and does not shrink with their number. Set-ups
// in doubt say nothing.
func (v *visits) readings(from time.Time) []levelling.TrendReading {
	var out []levelling.TrendReading
	for i := 0; i < len(v.visits); {
		j := i + 1
		for j < len(v.visits) && sameDay(v.visits[i].at, v.visits[j].at) {
			j++
		}
		if r, counts := mean(v.visits[i:j]); counts {
			r.Day = daysBetween(from, v.visits[i].at)
			out = append(out, r)
		}
		i = j
	}
	return out
}

// mean is the height of one day.
func mean(visits []visit) (r levelling.TrendReading, counts bool) {
	var n, sum, noise, plane float64
	for _, v := range visits {
		if v.on.doubt != "" {
			continue
		}
		n += float64(v.n)
		sum += v.sum
		noise += v.noise
		plane = math.Max(plane, v.on.byDatums.SD)
	}
	if n == 0 {
		return r, false
	}
	r.HeightMM = sum / n
	r.SD = rss(math.Sqrt(noise)/n, plane)
	return r, true
}
