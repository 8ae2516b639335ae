package drawing

import (
	"math"

	"relevel/events"
	"relevel/jobs"
)

// Limits of how far heights are drawn from their bearer.
const (
	mostAcross   = 64.0 // px, so that a line stays within the drawing's margin
	mostPxPerMM  = 4.0  // a millimetre is no cliff
	leastSpread  = 4.0  // mm that two neighbouring lines are held to differ by
	ofTheGap     = 0.8  // between parallel bearers, for both their lines
	parallelFrom = 0.96 // cosine between two bearers
)

// lines are all bearers of a floor and the one scale of their heights.
type lines struct {
	l       *layout
	lines   []line
	zero    float64 // height of a bearer's own line, mm
	aimed   bool    // zero is a target
	pxPerMM float64
	times   float64 // exaggeration of heights
}

// line is one bearer with the supports that are there.
type line struct {
	b        events.Bearer
	supports []jobs.Support
	parted   map[string]bool // nothing passes between this support and the one before
	up       point           // across the bearer, the way heights are drawn
}

func newLines(p jobs.Picture, turn int) lines {
	d := lines{l: newLayout(p, turn)}
	d.zero, d.aimed = zeroOf(p)
	for _, b := range p.Plan.Bearers {
		if ln, ok := d.line(p, b); ok {
			d.lines = append(d.lines, ln)
		}
	}
	d.times = roundDown(d.fitting() * 1000 / d.l.scale)
	d.pxPerMM = d.times * d.l.scale / 1000
	return d
}

// zeroOf is the height that a bearer's own line stands for: the highest target,
// or the highest height while there is none.
func zeroOf(p jobs.Picture) (mm float64, aimed bool) {
	target, known := math.Inf(-1), math.Inf(-1)
	for _, s := range p.Supports {
		if s.NoneHere {
			continue
		}
		if s.Target != nil {
			target = max(target, *s.Target)
		}
		for _, h := range heightsOf(s) {
			known = max(known, h)
		}
	}
	switch {
	case !math.IsInf(target, 0):
		return target, true
	case !math.IsInf(known, 0):
		return known, false
	}
	return 0, false
}

// heightsOf are those of a support that are drawn as lines.
func heightsOf(s jobs.Support) []float64 {
	var all []float64
	for _, h := range []*float64{s.Target, height(s.AsFound), height(s.Present)} {
		if h != nil {
			all = append(all, *h)
		}
	}
	return all
}

func (d lines) line(p jobs.Picture, b events.Bearer) (line, bool) {
	ln := line{b: b, parted: map[string]bool{}}
	pairs := buttedPairs(events.Plan{Bearers: []events.Bearer{b}})
	parted := false
	for i, id := range b.Supports {
		parted = parted || i > 0 && pairs[b.Supports[i-1]] == id
		s, ok := p.Support(id)
		if !ok || s.NoneHere {
			continue
		}
		ln.supports = append(ln.supports, s)
		ln.parted[id], parted = parted, false
	}
	if len(ln.supports) == 0 {
		return ln, false
	}
	ln.up = upOf(d.l.supports[ln.first()].towards(d.l.supports[ln.last()]))
	return ln, true
}

func (b line) first() string { return b.supports[0].ID }
func (b line) last() string  { return b.supports[len(b.supports)-1].ID }

// upOf is the way heights are drawn across a bearer: up the drawing, and to the
// left where the bearer runs up it, as one reads what is written along it.
func upOf(d point) point {
	up := point{d.y, -d.x}
	if up.x*-0.4+up.y*-1 < 0 {
		up = point{-up.x, -up.y}
	}
	return up
}

// runs are the lengths of a bearer between butted joins.
func (b line) runs() [][]jobs.Support {
	var all [][]jobs.Support
	for i, s := range b.supports {
		if i == 0 || b.parted[s.ID] {
			all = append(all, nil)
		}
		all[len(all)-1] = append(all[len(all)-1], s)
	}
	return all
}

// at is the place of a height over a support.
func (d lines) at(b line, s jobs.Support, mm float64) point {
	by := (mm - d.zero) * d.pxPerMM
	return d.l.supports[s.ID].plus(b.up.x*by, b.up.y*by)
}

// reach is how far the heights of a bearer lie below and above zero, mm.
func (d lines) reach(b line) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, s := range b.supports {
		for _, h := range heightsOf(s) {
			low, high = min(low, h-d.zero), max(high, h-d.zero)
		}
	}
	if low > high {
		return 0, 0
	}
	return low, high
}

// fitting is the px of a millimetre at which no line leaves the drawing and no
// two of parallel bearers cross.
func (d lines) fitting() float64 {
	k := mostPxPerMM
	for i, a := range d.lines {
		low, high := d.reach(a)
		if far := max(-low, high); far > 0 {
			k = min(k, mostAcross/far)
		}
		for _, b := range d.lines[i+1:] {
			k = min(k, d.fittingPair(a, b))
		}
	}
	return k
}

// fittingPair is the px of a millimetre at which two bearers' lines keep apart,
// +Inf where they do not run beside each other.
func (d lines) fittingPair(a, b line) float64 {
	cos := a.up.x*b.up.x + a.up.y*b.up.y
	gap := d.gap(a, b)
	if math.Abs(cos) < parallelFrom || gap == 0 {
		return math.Inf(1)
	}
	lowA, highA := d.reach(a)
	lowB, highB := d.reach(b)
	if cos < 0 {
		lowB, highB = -highB, -lowB
	}
	spread := highA - lowB // b lies above a
	if gap < 0 {
		spread = highB - lowA
	}
	return ofTheGap * math.Abs(gap) / max(spread, leastSpread)
}

// gap is how far b lies above a, in px across a, 0 where they do not run
// beside each other.
func (d lines) gap(a, b line) float64 {
	along := point{-a.up.y, a.up.x}
	a0, a1, _, _ := d.extent(a, along, a.up)
	b0, b1, _, _ := d.extent(b, along, a.up)
	if min(a1, b1)-max(a0, b0) < 1 {
		return 0
	}
	_, _, aLow, aHigh := d.extent(a, along, a.up)
	_, _, bLow, bHigh := d.extent(b, along, a.up)
	switch {
	case bLow > aHigh:
		return bLow - aHigh
	case aLow > bHigh:
		return bHigh - aLow
	}
	return 0 // they meet: no scale keeps them apart
}

// extent is what a bearer covers along and across a direction.
func (d lines) extent(b line, along, up point) (from, till, low, high float64) {
	from, till, low, high = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, s := range b.supports {
		p := d.l.supports[s.ID]
		s, t := p.x*along.x+p.y*along.y, p.x*up.x+p.y*up.y
		from, till, low, high = min(from, s), max(till, s), min(low, t), max(high, t)
	}
	return from, till, low, high
}

// roundDown is the next lower number a person would choose for a scale.
func roundDown(v float64) float64 {
	if !(v >= 1) {
		return max(v, 0)
	}
	ten := math.Pow(10, math.Floor(math.Log10(v)))
	for _, n := range []float64{8, 6, 5, 4, 3, 2.5, 2, 1.5} {
		if n*ten <= v {
			return n * ten
		}
	}
	return ten
}

// barMM is a round height that the key draws as a bar.
func (d lines) barMM() float64 {
	for _, mm := range []float64{5, 10, 20, 50, 100, 200, 500} {
		if mm*d.pxPerMM >= 14 {
			return mm
		}
	}
	return 1000
}

// ways are the directions heights are drawn in, two of them at most: across the
// bearers that lie and across those that run up the drawing.
func (d lines) ways() []point {
	var ways []point
	for _, lying := range []bool{true, false} {
		for _, b := range d.lines {
			if (math.Abs(b.up.y) >= math.Abs(b.up.x)) == lying {
				ways = append(ways, b.up)
				break
			}
		}
	}
	return ways
}

// zeroWords says what height a bearer's own line stands for.
func (d lines) zeroWords(c *canvas) string {
	if d.aimed {
		return c.means("dotted: its own line, highest target ") + c.units.Show(d.zero)
	}
	return c.means("dotted: its own line, highest height ") + c.units.Show(d.zero)
}
