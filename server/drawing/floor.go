package drawing

import (
	"fmt"

	"relevel/jobs"
)

// perSupport is about what one takes on the plan, with its share of the rest, bytes.
const perSupport = 1300

// Floor draws the plan of a floor with every support as it stands.
func Floor(p jobs.Picture, o Options) string {
	l := newLayout(p, o.Turn)
	c := &canvas{units: o.Units}
	c.room(len(p.Supports) * perSupport)
	sheet := l.sheet()
	c.start("floor"+sized(sheet), sheet, fmt.Sprintf("Plan of the floor, %d %s", len(p.Supports), plural(o.Words.Support, len(p.Supports))))
	taken := &crowd{}
	l.drawGround(c, p.Plan)
	l.drawCuts(c, p)
	l.drawBearers(c, p.Plan, taken)
	l.markMarks(p, taken)
	l.markCuts(p, taken)
	posts := l.posts(c, p, o.Round, taken)
	places := make([]placing, len(posts))
	labels := make([]label, len(posts))
	for i, post := range posts {
		labels[i] = labelOf(post.s, signedBy(post.s, o), o.Units)
		places[i] = taken.place(labels[i], labels[i].placings(post.at, post.extent(), l.upright[post.s.ID], post.side, post.pair))
	}
	l.drawMarks(c, p, taken)
	l.drawRoomNames(c, p.Plan, taken)
	for i, post := range posts {
		drawSupport(c, post, labels[i], places[i], o)
	}
	l.drawEdge(c, p.Plan)
	return c.finish()
}

// sized tells the style sheet which drawings are too large for a desk's window
// and are scrolled there too.
func sized(sheet box) string {
	if sheet.wide() > 1300 || sheet.high() > 1000 {
		return " large"
	}
	return ""
}

func plural(word string, n int) string {
	if word == "" {
		word = "support"
	}
	if n == 1 {
		return word
	}
	return word + "s"
}

func signedBy(s jobs.Support, o Options) string {
	if s.Signature == nil {
		return ""
	}
	return o.initials(s.Signature.By)
}

// posts prepares every support and marks its place as taken.
func (l *layout) posts(c *canvas, p jobs.Picture, r Round, taken *crowd) []post {
	posts := make([]post, len(p.Supports))
	for i, s := range p.Supports {
		posts[i] = post{c: c, at: l.supports[s.ID], side: l.outward[s.ID], s: s, pair: l.paired[s.ID], join: l.joins[s.ID], upright: l.upright[s.ID], sign: r.sign(s.ID)}
		taken.add(posts[i].extent())
		if posts[i].sign != "" {
			taken.add(posts[i].signBox())
		}
	}
	return posts
}

// drawSupport draws one support with its label, all of it a link.
func drawSupport(c *canvas, p post, l label, at placing, o Options) {
	href := o.link(p.s.ID)
	tag := "a"
	if href == "" {
		tag = "g"
	}
	title := Title(p.s, o.Words) + o.Round.title(p.s.ID)
	c.open(tag, "class", "support", "href", href, "data-support", p.s.ID, "aria-label", title)
	c.element("title", title)
	bs := l.boxes(at)
	covers := p.extent().with(bs[0]).with(bs[1])
	if p.sign != "" {
		covers = covers.with(p.signBox())
	}
	c.rect("touch", touchBox(covers, p))
	p.draw()
	l.write(c, at, p.s)
	p.drawSign()
	c.close(tag)
}

// touchBox grows what is drawn to what a thumb can hit, away from the other
// end of a butted join.
func touchBox(b box, p post) box {
	if grow := touch - b.high(); grow > 0 {
		b.y0, b.y1 = b.y0-grow/2, b.y1+grow/2
	}
	grow := touch - b.wide()
	switch {
	case grow <= 0:
	case p.pair && p.side < 0:
		b.x0 -= grow
	case p.pair:
		b.x1 += grow
	default:
		b.x0, b.x1 = b.x0-grow/2, b.x1+grow/2
	}
	return b
}

// Title says a support in one line: "B2-3: on a jack, 7 to go".
func Title(s jobs.Support, w jobs.Words) string {
	t := s.ID + ": " + w.Say(string(s.State))
	if s.ToGo != "" {
		t += ", " + s.ToGo
	}
	if s.Remaining != nil && s.Basis == jobs.IsExpected {
		t += " (expected, not read)"
	}
	if s.Stopped && s.State != jobs.IsStopped {
		t += ", stopped"
	}
	if s.Doubt != "" {
		t += ", in doubt: " + s.Doubt
	}
	return t
}
