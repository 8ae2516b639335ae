package jobs

import (
	"fmt"
	"slices"

	"relevel/events"
)

// lists are the records that are kept as they are and change no height: what
// was seen, said, cut, tied and agreed.
type lists struct {
	conditions, safety, ties, cuts, findings, inspections []*Item
	differences, gaps, incidents, changes, days           []*Item
	handovers, notes, stops, checks, below, erasures      []*Item

	byID map[reference]*Item
	tie  map[string]*tie
	cut  map[string]*cut

	finding map[events.ID]*finding
	stop    map[events.ID]*stop
	change  map[events.ID]*change

	watch map[string]watched // each gap
}

// reference names a record by what it is and its event: a go-ahead ends a stop
// and nothing else that may have that id.
type reference struct {
	kind events.Kind
	id   events.ID
}

// tie is one thing that holds the floor down.
type tie struct {
	item     *Item // the last that was recorded under its name
	text     string
	supports []string
	mark     mark // of its freeing
	freed    bool
	back     bool // or left off, with the reason
	tested   bool // back, and it holds again
}

// cut is one opening in the floor.
type cut struct {
	item    *Item
	mark    mark
	outline []events.Position
	covered bool
	closed  bool
}

func newLists() lists {
	return lists{
		byID: map[reference]*Item{}, tie: map[string]*tie{}, cut: map[string]*cut{},
		finding: map[events.ID]*finding{}, stop: map[events.ID]*stop{}, change: map[events.ID]*change{},
		watch: map[string]watched{},
	}
}

func itemOf(e placed, name, text string) *Item {
	return &Item{ID: e.ID, Seq: e.Seq, At: e.key.at, By: e.By, Name: name, Text: text}
}

func (l *lists) add(to *[]*Item, it *Item) *Item {
	*to = append(*to, it)
	return it
}

// await adds a record that stays open until another event refers to it.
func (l *lists) await(to *[]*Item, kind events.Kind, it *Item) *Item {
	it.Open = true
	l.byID[reference{kind, it.ID}] = it
	return l.add(to, it)
}

// openTies names the ties that still hold a support.
func (l *lists) openTies(support string) []string {
	return l.tiesOf(support, func(t *tie) bool { return !t.freed })
}

// tiesBack names those that were put back, and would be strained by a move.
func (l *lists) tiesBack(support string) []string {
	return l.tiesOf(support, func(t *tie) bool { return t.freed && t.tested })
}

func (l *lists) tiesOf(support string, is func(*tie) bool) []string {
	var names []string
	for _, it := range l.ties {
		if t := l.tie[it.Name]; t.item == it && is(t) && slices.Contains(t.supports, support) {
			names = append(names, t.text)
		}
	}
	return names
}

// openCauses lists the findings about a support that nothing closed yet.
func (l *lists) openCauses(support string) []string {
	var causes []string
	for _, it := range l.findings {
		if it.Open && slices.Contains(it.Supports, support) {
			causes = append(causes, it.Text)
		}
	}
	return causes
}

// findingsAt lists what was found about a support, closed or not.
func (l *lists) findingsAt(support string) []Item {
	var about []*Item
	for _, it := range l.findings {
		if slices.Contains(it.Supports, support) {
			about = append(about, it)
		}
	}
	return values(about)
}

// list takes the kinds that are records.
func (s *State) list(e placed, body events.Body) {
	l := &s.lists
	switch b := body.(type) {
	case *events.Condition:
		l.add(&l.conditions, itemOf(e, b.Room, conditionWords(b)))
	case *events.SafetyCheck:
		s.goBelow(e, b)
		l.add(&l.safety, itemOf(e, b.AtHatch, safetyWords(b)))
	case *events.Tie:
		s.takeTie(e, b)
	case *events.TieFreed:
		s.freeTie(e, b)
	case *events.TieBack:
		s.putTieBack(e, b)
	case *events.FloorCut:
		s.startWork()
		s.workDay(e, "the floor was cut")
		s.flagStopped(e, "the cut "+b.Cut, "made")
		s.cutFloor(e, b)
	case *events.FloorClosed:
		s.closeCut(e, b)
	case *events.Finding:
		s.takeFinding(e, b)
	case *events.FindingClosed:
		s.closeFinding(e, b)
	case *events.Inspection:
		it := l.add(&l.inspections, itemOf(e, b.Stage, sentence(b.Who+": "+b.Answer, b.Note)))
		it.Supports = b.Supports
		s.inspect(b)
	case *events.Change:
		s.takeChange(e, b)
	case *events.ChangeAnswered:
		s.answerChange(e, b)
	case *events.Stop:
		s.stopWork(e, b)
	case *events.GoAhead:
		s.goAhead(e, b)
	default:
		s.listPlain(e, body)
	}
}

// listPlain takes the records that nothing ever closes.
func (s *State) listPlain(e placed, body events.Body) {
	l := &s.lists
	switch b := body.(type) {
	case *events.Difference:
		l.add(&l.differences, itemOf(e, b.From+" to "+b.To, fmt.Sprintf("%s is %s above %s", b.To, lengthWords(*b.Rise), b.From)))
	case *events.GapReading:
		s.watchGap(e, b)
	case *events.UnderFloor:
		s.lookBelow(e, b)
	case *events.Incident:
		l.add(&l.incidents, itemOf(e, b.Where, sentence(b.What, b.Done)))
	case *events.DayEnd:
		s.endDay(e, b)
	case *events.Handover:
		s.handOver(e)
		s.comeBack = b.ComeBack
		l.add(&l.handovers, itemOf(e, b.Date, sentence("present: "+b.Present, b.LeftOut)))
	case *events.Note:
		it := l.add(&l.notes, itemOf(e, "", b.Text))
		it.Supports = b.Supports
		if !b.Answers.IsZero() {
			s.lookedInto(b.Answers)
		}
	case *events.Reading:
		it := l.add(&l.notes, itemOf(e, b.Point, "not read: "+b.NotRead))
		it.Supports = []string{b.Point}
	case *events.Signed:
		l.add(&l.notes, itemOf(e, b.Room, "signed: "+signedWords(b)))
	}
}

// takeTie records a tie. One of the same name that still stands may be another:
// what either of them stands at stays tied until that name is freed.
func (s *State) takeTie(e placed, b *events.Tie) {
	it := s.lists.add(&s.lists.ties, itemOf(e, b.Tie, sentence(b.What, b.Where)))
	it.Open, it.Supports = true, b.Supports
	t := &tie{item: it, supports: b.Supports, text: it.Text}
	if old := s.lists.tie[b.Tie]; old != nil && !old.freed {
		s.recordedAgain(e, old.item, b.Tie)
		t.supports = union(old.supports, b.Supports)
		if old.text != it.Text {
			t.text = it.Text + ", and what was named " + b.Tie + " before"
		}
	}
	s.lists.tie[b.Tie] = t
	s.touch(e, t.supports...)
}

// cutFloor records a floor cut. One of the same name that is not closed may be
// another: both are covered, or neither is.
func (s *State) cutFloor(e placed, b *events.FloorCut) {
	it := s.lists.add(&s.lists.cuts, itemOf(e, b.Cut, b.Where))
	it.Open = true
	c := &cut{item: it, mark: markOf(e), covered: b.Cover != "", outline: b.Outline}
	if old := s.lists.cut[b.Cut]; old != nil && !old.closed {
		s.recordedAgain(e, old.item, b.Cut)
		if !old.covered {
			c.covered, c.mark = false, old.mark
		}
	}
	s.lists.cut[b.Cut] = c
}

// recordedAgain closes a record whose name was given once more.
func (s *State) recordedAgain(e placed, old *Item, name string) {
	old.Open, old.Closed = false, "recorded again"
	s.flag(e, name+" was recorded before under that name: give another its own name")
}

// union returns the names of both lists, each once.
func union(a, b []string) []string {
	out := slices.Clone(a)
	for _, name := range b {
		if !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

func (s *State) freeTie(e placed, b *events.TieFreed) {
	s.startWork()
	t := s.lists.tie[b.Tie]
	if t == nil {
		s.setAside(e, "no tie of that name was recorded before: "+b.Tie)
		return
	}
	t.freed, t.back, t.tested, t.mark = true, false, false, markOf(e)
	t.item.Open, t.item.Closed = false, sentence("freed", b.How)
	s.touch(e, t.supports...)
}

func (s *State) putTieBack(e placed, b *events.TieBack) {
	t := s.lists.tie[b.Tie]
	if t == nil {
		s.setAside(e, "no tie of that name was recorded before: "+b.Tie)
		return
	}
	t.back, t.tested = true, b.Tested != ""
	t.item.Open = !t.freed
	t.item.Closed = "back, " + b.Tested
	if b.Tested == "" {
		t.item.Closed = "left off: " + b.Left
	}
	s.touch(e, t.supports...)
}

func (s *State) closeCut(e placed, b *events.FloorClosed) {
	c := s.lists.cut[b.Cut]
	if c == nil {
		s.setAside(e, "no floor cut of that name was recorded before: "+b.Cut)
		return
	}
	c.covered, c.closed = true, !b.Covered
	c.item.Open, c.item.Closed = b.Covered, b.How
}

// awaitedItem is the record that another refers to by id; nil while it is not
// there, and the other then waits for it.
func (s *State) awaitedItem(e placed, to reference) *Item {
	s.pull(to.id)
	it := s.lists.byID[to]
	if it == nil {
		s.setAsideFor(e, to.id.String(), fmt.Sprintf("the %s it answers is not in the log yet, or does not count", to.kind))
	}
	return it
}
