package jobs

import (
	"math"
	"slices"
	"strings"
	"time"

	"relevel/events"
)

// briefVersion changes with what a Brief holds or how it reads.
const briefVersion = 5

// SummaryVersion changes whenever a summary of the same events would read otherwise,
// so that a row of another program is known for what it is and made again.
const SummaryVersion = FoldVersion*100 + briefVersion

// Brief is one job in a line: all that pages over many jobs say of it. It is a
// function of the events alone: what depends on the day is left to whoever shows it.
type Brief struct {
	Stage        string    `json:"stage"`
	Supports     int       `json:"supports"`
	Signed       int       `json:"signed"`
	Within       int       `json:"within"` // no more to go, by the agreed tolerance
	GreatestToGo *float64  `json:"greatest_to_go_mm,omitempty"`
	GreatestSD   float64   `json:"greatest_to_go_sd_mm,omitempty"` // its ±
	Rounds       *int      `json:"rounds_left,omitempty"`          // nil where none can be planned
	Dangerous    []string  `json:"dangerous,omitempty"`            // "B2-3 on a jack"
	Stopped      bool      `json:"stopped,omitempty"`
	LastAt       time.Time `json:"last_at,omitzero"`
	Owed         Owed      `json:"owed,omitzero"`
	Aside        int       `json:"aside,omitempty"` // events that do not count yet
	Last         string    `json:"last,omitempty"`  // what happened then, in words
	LastBy       events.ID `json:"last_by,omitzero"`

	LastKind events.Kind `json:"last_kind,omitempty"` // of what happened then

	Left      []Left     `json:"left,omitempty"` // dangerous first
	Proposals []Proposal `json:"proposals,omitempty"`
	Doubts    []string   `json:"doubts,omitempty"`  // places and datums that are in doubt
	Undrawn   []string   `json:"undrawn,omitempty"` // places left or in doubt that are no supports of the plan
	Unchecked []string   `json:"unchecked,omitempty"`
	Newer     int        `json:"newer,omitempty"` // events a newer program is needed for
	Handed    time.Time  `json:"handed_over_at,omitzero"`
	ComeBack  []string   `json:"come_back,omitempty"` // the dates agreed at the hand-over
}

// MustStay tells whether a job has to stay before its crew's eyes, closed or not:
// somebody may be below, or something is left that can hurt.
func (b *Brief) MustStay() bool {
	return slices.ContainsFunc(b.Left, func(l Left) bool { return l.Dangerous || l.Place == PeopleBelow })
}

// Brief is the job in a line, with all that waits.
func (s *State) Brief() Brief {
	left := s.left()
	b := s.brief(s.stepsOf(), left)
	b.Left, b.Last, b.LastBy, b.LastKind = left, s.lastWords(), s.latest.By, s.latest.Kind
	b.Rounds, b.Doubts, b.Unchecked = s.roundsLeft(), s.doubts(), s.unchecked()
	b.Proposals, b.Newer = s.proposalViews(), s.newer
	b.Handed, b.ComeBack = s.handed, slices.Clone(s.comeBack)
	b.Undrawn = s.undrawn(b)
	return b
}

// SayLast says what happened last in the words of a region.
func (b Brief) SayLast(w Words) string {
	what, text := KindWords(b.LastKind), ": "
	rest, own := strings.CutPrefix(b.Last, what)
	if !own {
		return b.Last
	}
	if at := strings.Index(rest, text); at >= 0 {
		rest = rest[:at] + text + w.SayLine(b.LastKind, rest[at+len(text):])
	}
	return w.Say(what) + rest
}

// undrawn are the places of a brief that have no support on the plan: floor cuts, datums,
// what a later drawing forgot.
func (s *State) undrawn(b Brief) (names []string) {
	at := slices.Clone(b.Doubts)
	for _, l := range b.Left {
		at = append(at, l.Place)
	}
	drawn := s.allSupports()
	for _, name := range at {
		if !slices.Contains(drawn, name) && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// brief is how far a job is. A Picture has the rest of a Brief itself.
func (s *State) brief(steps []Step, left []Left) Brief {
	b := Brief{Stage: stage(steps), LastAt: s.lastAt, Owed: s.owed(), Aside: len(s.aside)}
	s.tally(&b)
	for _, l := range left {
		if l.Dangerous {
			b.Dangerous = append(b.Dangerous, l.Place+" "+l.What)
		}
	}
	for _, it := range s.lists.stops {
		b.Stopped = b.Stopped || it.Open
	}
	return b
}

// tally counts the supports by how far they are.
func (s *State) tally(b *Brief) {
	s.lifted(func(p *place) {
		b.Supports++
		if isSigned(p) {
			b.Signed++
		}
		r, known := s.remaining(p)
		if !known {
			return
		}
		if math.Abs(r.MM) <= s.within() || r.MM < 0 {
			b.Within++
		}
		if b.GreatestToGo == nil || r.MM > *b.GreatestToGo {
			most := max(r.MM, 0) // above its target there is nothing to go
			b.GreatestToGo, b.GreatestSD = &most, r.SD
		}
	})
}

// roundsLeft is how many rounds there are to come, planned as of the day on which
// something happened last; nil where nothing can be planned yet.
func (s *State) roundsLeft() *int {
	if s.aim == nil {
		return nil
	}
	p := s.rounds(s.onSite(s.lastAt))
	if len(p.ask) > 0 {
		return nil
	}
	n := len(p.plan.Rounds)
	return &n
}

// doubts names the places and datums whose height contradicts something.
func (s *State) doubts() (names []string) {
	face := s.judgedFace()
	for _, at := range s.floor.plan.Supports {
		p := s.place(at.ID)
		if presentFigure(p, face) == nil {
			continue
		}
		if _, _, doubt := s.basisOn(p, face); doubt != "" {
			names = append(names, p.id)
		}
	}
	for _, d := range s.floor.plan.Datums {
		if s.place(d.ID).doubted != "" {
			names = append(names, d.ID)
		}
	}
	return names
}

// unchecked names the instruments that were out of date when they were last set up.
func (s *State) unchecked() (names []string) {
	seen := map[string]bool{}
	for _, u := range slices.Backward(s.recent) {
		name := instrumentName(u.opened.Instrument)
		if _, overdue := s.checkWords(u.opened.Instrument, u.at); overdue && !seen[name] {
			names = append(names, u.opened.Instrument)
		}
		seen[name] = true
	}
	return names
}

// mostLast is how long the words on what happened last may be, in letters.
const mostLast = 80

// lastWords says what happened last, in a few words.
func (s *State) lastWords() string {
	if s.latest.Seq == 0 {
		return ""
	}
	l := s.Line(s.latest)
	words := l.What
	if len(l.Points) > 0 && l.Kind != events.KindHandover && l.Move == nil {
		words += " " + andWords(firstOf(l.Points, 3))
	}
	if l.Text != "" && l.Kind != events.KindReading {
		words += ": " + l.Text
	}
	return shortened(words, mostLast)
}

// firstOf lists a few, and says that there are more.
func firstOf(names []string, most int) []string {
	if len(names) <= most {
		return names
	}
	return append(slices.Clone(names[:most]), "others")
}

// shortened cuts a sentence at a word, where it is longer than so many letters.
func shortened(words string, most int) string {
	letters := []rune(words)
	if len(letters) <= most {
		return words
	}
	cut := most
	for cut > most/2 && letters[cut] != ' ' {
		cut--
	}
	return string(letters[:cut]) + " …"
}
