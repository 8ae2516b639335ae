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
