package drawing

import (
	"math"

	"relevel/events"
	"relevel/jobs"
)

// A support stands on the plan as a small elevation under its bearer. Its place
// is the middle of the bearer; y runs down from there.
const (
	underside = 5.0 // of the bearer
	ground    = 34.0
	postHalf  = 7.0
	bearerEnd = 15.0 // how far the bearer piece reaches to each side
)

// post draws one support: glyph is its place on the drawing, side the side of
// it that is free, −1 or +1.
type post struct {
	c       *canvas
	at      point
	side    float64
	s       jobs.Support
	pair    bool            // one of the two ends at a butted join
	join    events.JoinSort // of two lengths over this post, "" without one
	upright bool            // its bearer runs up the drawing
	sign    string          // what the round says of it
}

func (p post) line(class string, x0, y0, x1, y1 float64) {
	p.c.line(class, p.at.plus(x0, y0), p.at.plus(x1, y1))
}

func (p post) rect(class string, x0, y0, x1, y1 float64) {
	p.c.rect(class, box{p.at.x + min(x0, x1), p.at.y + y0, p.at.x + max(x0, x1), p.at.y + y1})
}

// extent is what the post covers on the drawing, with what stands beside it.
func (p post) extent() box {
	b := box{p.at.x - bearerEnd, p.at.y - underside, p.at.x + bearerEnd, p.at.y + ground + 5}
	if p.s.OnJack {
		b = b.with(p.beside(9, 25))
	}
	if p.s.OnBlock {
		b = b.with(p.blockingBox())
	}
	if p.sign != "" && !p.upright { // its name goes under the sign
		b = b.with(p.signBox())
	}
	return b
}

// beside is a box on the free side of the post.
func (p post) beside(near, far float64) box {
	x0, x1 := p.at.x+near*p.side, p.at.x+far*p.side
	return box{min(x0, x1), p.at.y + underside, max(x0, x1), p.at.y + ground}
}

func (p post) blockingBox() box {
	if p.pair { // the other side belongs to the other end
		return p.beside(28, 46)
	}
	p.side = -p.side
	return p.beside(10, 28)
}

func (p post) draw() {
	p.bearer()
	switch {
	case p.s.NoneHere:
		p.noneHere()
		return
	case p.s.Out:
		p.rect("pencil dash", -postHalf, underside+5, postHalf, ground)
	default:
		p.standing()
	}
	if p.s.OnJack {
		p.jack()
	}
	if p.s.OnBlock {
		p.blocking(p.blockingBox())
	}
	if p.s.Signature != nil {
		p.doubleLine()
	}
	if p.s.Stopped {
		p.line("stop", -18, ground+5, 18, -10)
	}
}

// bearer draws the piece of bearer above the post, over whatever line runs there.
func (p post) bearer() {
	p.rect("paper", -bearerEnd+4, -underside, bearerEnd-4, ground+1)
	p.line("ink", -bearerEnd, -underside, bearerEnd, -underside)
	p.line("ink", -bearerEnd, underside, bearerEnd, underside)
	p.joined()
}

// joined draws how two lengths of the bearer meet over the post.
func (p post) joined() {
	switch p.join {
	case "":
		return
	case events.Scarfed:
		p.line("ink", -6, underside, 6, -underside)
		return
	case events.Plated:
		p.line("heavy", -9, -underside-3, 9, -underside-3)
		p.rect("paper", -1.5, -underside-1, 1.5, underside+1)
		p.line("ink", -1.5, -underside, -1.5, underside)
		p.line("ink", 1.5, -underside, 1.5, underside)
		return
	}
	p.line("ink", -4, -underside, -4, 0)
	p.line("ink", -4, 0, 4, 0)
	p.line("ink", 4, 0, 4, underside)
}

func (p post) noneHere() {
	p.line("pencil", -5, underside+8, 5, underside+18)
	p.line("pencil", -5, underside+18, 5, underside+8)
}

// standing draws a post that is there, and what lies between it and the bearer.
func (p post) standing() {
	top := p.postTop()
	p.rect("ink post "+shade(p.s.Remaining), -postHalf, top, postHalf, ground)
	p.packing(top)
	if p.s.Present != nil && p.s.Packer == nil {
		p.levelMark(top)
	}
	if p.s.Fixed {
		p.strap(top)
	}
}

// postTop leaves room for the packing: a packer is drawn as thick as its
// millimetres allow.
func (p post) postTop() float64 {
	if p.s.Packer == nil {
		return underside + 4
	}
	thick := packerPX(p.s.Packer.MM)
	if p.s.Packer.Sort == events.Temporary {
		thick = max(thick, 8) // room for loose strokes
	}
	return underside + p.gap() + thick
}

// gap is left open over a final packer until the jack is down on it.
func (p post) gap() float64 {
	if p.s.OnJack || p.s.State == jobs.IsPacked {
		return 3
	}
	return 0
}

func packerPX(mm float64) float64 { return min(max(mm/6, 3), 11) }

func (p post) packing(top float64) {
	if p.s.Packer == nil {
		return
	}
	if p.s.Packer.Sort == events.Final {
		p.rect("solid", -postHalf-2, underside+p.gap(), postHalf+2, top)
		return
	}
	// Loose strokes, none of them quite level.
	for i, y := 0, underside+2.5; y < top-1; i, y = i+1, y+3 {
		lean := 0.8 - 1.6*float64(i%2)
		shift := float64(i%3) - 1
		p.line("ink", -postHalf+shift, y-lean, postHalf+shift, y+lean)
	}
}

// levelMark is the level line across a post that was read.
func (p post) levelMark(top float64) {
	y := (top + ground) / 2
	class := "ink"
	if p.s.Basis == jobs.IsExpected {
		class = "pencil"
	}
	p.line(class, -postHalf-5, y, postHalf+5, y)
}

func (p post) strap(top float64) {
	p.rect("ink fill-paper", -2.5, -underside, 2.5, top+9)
	p.line("ink", 0, top+3, 0, top+6)
	p.line("ink", 0, -1.5, 0, 1.5)
}

func (p post) jack() {
	apex := p.at.plus(17*p.side, underside)
	foot := p.at.plus(17*p.side, ground)
	p.c.shape("solid", true, apex, foot.plus(-8, 0), foot.plus(8, 0))
}

// blocking draws crossed timbers: a long one, the ends of two, a long one.
func (p post) blocking(b box) {
	layer := b.high() / 5
	for i := range 5 {
		y := b.y0 + float64(i)*layer
		if i%2 == 0 {
			p.c.rect("ink fill-paper", box{b.x0, y, b.x1, y + layer})
			continue
		}
		p.c.rect("ink fill-paper", box{b.x0 + 1, y, b.x0 + 1 + layer, y + layer})
		p.c.rect("ink fill-paper", box{b.x1 - 1 - layer, y, b.x1 - 1, y + layer})
	}
}

// doubleLine is that of a finished drawing; broken once the signature lapsed.
func (p post) doubleLine() {
	for _, y := range []float64{ground + 2.5, ground + 5} {
		if p.s.Signature.Lapsed == "" {
			p.line("ink", -bearerEnd, y, bearerEnd, y)
			continue
		}
		p.line("ink", -bearerEnd, y, -4, y)
		p.line("ink", 4, y, bearerEnd, y)
	}
}

// shadeLimits are the lifts in mm at which the shade of a post steps, the same
// before and after the work.
var shadeLimits = [...]float64{2, 5, 10, 20, 40}

// shade is the second channel beside the number: the further to go, the more ink.
func shade(remaining *jobs.Figure) string {
	if remaining == nil {
		return "go-unknown"
	}
	i := 0
	for i < len(shadeLimits) && math.Abs(remaining.MM) > shadeLimits[i] {
		i++
	}
	return "go-" + string(rune('0'+i))
}
