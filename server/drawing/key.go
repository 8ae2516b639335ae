package drawing

import (
	"relevel/events"
	"relevel/jobs"
)

// KeyEntry is one drawing of the key and what it means.
type KeyEntry struct{ SVG, Means string }

// Key explains how supports are drawn, one small drawing a state.
func Key(w jobs.Words) []KeyEntry {
	final := &jobs.Packer{Sort: events.Final, MM: 30}
	present := &jobs.Figure{}
	entries := []struct {
		s     jobs.Support
		means string
	}{
		{jobs.Support{}, "found, not read yet"},
		{jobs.Support{Present: present, Basis: jobs.WasRead}, "read"},
		{jobs.Support{OnJack: true}, "on a jack"},
		{jobs.Support{Packer: &jobs.Packer{Sort: events.Temporary, MM: 40}}, "on temporary packing"},
		{jobs.Support{OnBlock: true}, "on " + w.Blocking},
		{jobs.Support{Out: true, OnBlock: true}, "out"},
		{jobs.Support{Packer: final, State: jobs.IsPacked, OnJack: true}, "packed, the jack still there"},
		{jobs.Support{Packer: final, State: jobs.IsDown}, "jack down"},
		{jobs.Support{Packer: final, Fixed: true}, "fixed"},
		{jobs.Support{Packer: final, Fixed: true, Signature: &jobs.Signature{}}, "signed"},
		{jobs.Support{Packer: final, Fixed: true, Signature: &jobs.Signature{Lapsed: "moved"}}, "signed, then something beside it moved: read again"},
		{jobs.Support{Stopped: true}, "stopped"},
	}
	out := make([]KeyEntry, len(entries))
	for i, e := range entries {
		c := &canvas{}
		c.start("glyph", box{-34, -10, 34, ground + 10}, e.means)
		post{c: c, side: -1, s: e.s}.draw()
		out[i] = KeyEntry{c.finish(), e.means}
	}
	return out
}

// Small draws a floor as a thumbnail: its walls, and a post where there is
// still something to do. A finished one is a dot.
func Small(p jobs.Picture) string {
	l := newLayout(p, 0)
	const wide, high = 132.0, 96.0
	fit := min(wide/max(l.floor.wide(), 0.1), high/max(l.floor.high(), 0.1))
	at := func(x, y float64) point {
		t := turned(x, y, 0)
		return point{(t.x - l.floor.x0) * fit, (t.y - l.floor.y0) * fit}
	}
	c := &canvas{}
	c.start("small-floor", box{-6, -6, wide + 6, high + 6}, "Small plan")
	for _, w := range p.Plan.Walls {
		c.line("wall", at(w.From[0], w.From[1]), at(w.To[0], w.To[1]))
	}
	for _, s := range p.Supports {
		a := at(s.X, s.Y)
		switch {
		case s.Signature != nil && s.Signature.Lapsed == "":
			c.rect("solid", box{a.x - 0.5, a.y - 0.5, a.x + 0.5, a.y + 0.5})
		case s.OnJack || s.Out:
			c.rect("danger", box{a.x - 3, a.y - 5, a.x + 3, a.y + 5})
		default:
			c.rect("ink "+shade(s.Remaining), box{a.x - 2.5, a.y - 4.5, a.x + 2.5, a.y + 4.5})
		}
	}
	return c.finish()
}
