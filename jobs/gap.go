package jobs

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/levelling"
	"relevel/levelling/underfloor"
)

// Gap is one crack or gap that is watched while the floor moves.
type Gap struct {
	Name     string    `json:"name"`
	What     string    `json:"what"`
	Near     string    `json:"near,omitempty"`
	FirstMM  float64   `json:"first_mm"`
	NowMM    float64   `json:"now_mm"`
	Growth   string    `json:"growth,omitempty"`      // since the first reading, in words
	Class    *int      `json:"width_class,omitempty"` // of a crack, by width alone
	Source   string    `json:"source,omitempty"`      // of the classes
	Limit    string    `json:"watch_limit,omitempty"` // as it was given
	Past     bool      `json:"past_limit,omitempty"`
	Supports []string  `json:"supports,omitempty"` // whose moves may open it
	At       time.Time `json:"at"`
	Seq      int64     `json:"seq"`
}

// watched is what is known of one gap.
type watched struct {
	first    float64 // mm
	since    float64 // its width when somebody last decided about it, or the first
	now      events.GapReading
	limit    *events.Length
	supports []string
	at       time.Time
	seq      int64
}

// gapAbout is what the proposals of a gap are about.
const gapAbout = "gap "

// watchGap records the width of a gap, how it grew and, of a crack, its class.
func (s *State) watchGap(e placed, b *events.GapReading) {
	w, seen := s.lists.watch[b.Gap]
	width := b.Width.MM()
	if !seen {
		w.first, w.since = width, width
	}
	w.limit = cmp.Or(b.Watch, w.limit)
	if len(b.Supports) > 0 {
		w.supports = b.Supports
	}
	w.now, w.at, w.seq = *b, e.key.at, e.Seq
	s.lists.watch[b.Gap] = w
	it := s.lists.add(&s.lists.gaps, itemOf(e, b.Gap, gapWords(w)))
	it.Supports = b.Supports
	why := w.why()
	if why == "" {
		s.withdraw(gapAbout + b.Gap)
		return
	}
	it.Open = true
	s.propose(e, gapAbout+b.Gap, why, w.supports)
}

// why says what speaks for a stop, "" where nothing does.
func (w watched) why() string {
	width := w.now.Width.MM()
	switch {
	case w.past():
		return fmt.Sprintf("%s is %s wide, past its watch limit of %s", w.now.Gap, lengthWords(*w.now.Width), lengthWords(*w.limit))
	case w.now.What == "crack" && crackClass(width) > crackClass(w.since):
		return fmt.Sprintf("%s grew from class %d to %d (%s)", w.now.Gap, crackClass(w.since), crackClass(width), underfloor.CrackSource)
	}
	return ""
}

func (w watched) past() bool { return w.limit != nil && w.now.Width.MM() > w.limit.MM() }

// settle notes that somebody decided about what a proposal was about.
func (l *lists) settle(about string) {
	name, isGap := strings.CutPrefix(about, gapAbout)
	if w, known := l.watch[name]; isGap && known {
		w.since = w.now.Width.MM()
		l.watch[name] = w
	}
}

func gapWords(w watched) string {
	words := lengthWords(*w.now.Width)
	if w.now.What == "crack" {
		words += fmt.Sprintf(", width class %d (%s)", crackClass(w.now.Width.MM()), underfloor.CrackSource)
	}
	if growth := w.growth(); growth != "" {
		words += ", " + growth
	}
	return sentence(words, w.now.Near)
}

// growth is how a gap changed since it was read first, "" where it did not.
func (w watched) growth() string {
	by := math.Round((w.now.Width.MM()-w.first)*100) / 100
	switch {
	case by > 0:
		return w.size(by) + " wider than at first"
	case by < 0:
		return w.size(-by) + " narrower than at first"
	}
	return ""
}

// size writes a difference of widths in the unit that the last was read in.
func (w watched) size(mm float64) string {
	switch u := w.now.Width.Unit; u {
	case levelling.Inch, levelling.Foot:
		return u.ShowLimit(mm) + u.Word()
	}
	return fmt.Sprintf("%g mm", mm)
}

func crackClass(mm float64) int {
	class, err := underfloor.CrackClass(mm)
	if err != nil {
		return 0
	}
	return class
}

// gapViews lists the gaps in the order they were first read.
func (l *lists) gapViews() []Gap {
	var out []Gap
	for _, it := range l.gaps {
		if slices.ContainsFunc(out, func(g Gap) bool { return g.Name == it.Name }) {
			continue
		}
		out = append(out, l.watch[it.Name].view())
	}
	return out
}

func (w watched) view() Gap {
	g := Gap{
		Name: w.now.Gap, What: w.now.What, Near: w.now.Near, FirstMM: w.first, NowMM: w.now.Width.MM(), Growth: w.growth(),
		Past: w.past(), Supports: slices.Clone(w.supports), At: w.at, Seq: w.seq,
	}
	if w.now.What == "crack" {
		class := crackClass(g.NowMM)
		g.Class, g.Source = &class, underfloor.CrackSource
	}
	if w.limit != nil {
		g.Limit = lengthWords(*w.limit)
	}
	return g
}
