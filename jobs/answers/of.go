package answers

import (
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// Of tells the account of a job from its state and the entries of its book. Both have
// to be of the same events: an account up to a cut-off is made of a state and of
// entries that end there. It changes neither, but has the state speak the firm's unit.
func Of(s *jobs.State, entries []jobs.Entry, about About) Account {
	s.Speak(about.Firm.Speech())
	t := newTeller(s.Picture(about.Now), entries, about)
	t.tracks = t.tracksOf(s.Tracks())
	a := Account{
		Job: about.Job.Name, Firm: about.Firm.Name, Place: about.Job.Place, Units: about.Firm.Units,
		AsOf: t.lastAt(), Seq: s.Seq(),
		Supports: t.supportRows(), Pairs: t.pairs(), Floor: t.floor(s.Compared()), Then: t.tracks, Changes: t.changes(), Shown: t.shown(),
		Proof: proof,
	}
	for _, one := range []struct {
		key Key
		ask string
		say func(*answer)
	}{
		{Wrong, "What was wrong?", t.wrong},
		{Decided, "What was decided, by which rule, and what was left out?", t.decided},
		{NotLevel, "Why isn’t it dead level?", t.notLevel},
		{Done, "What was done, and what is under there now?", t.done},
		{Pictures, "What did it look like before, and what after?", func(an *answer) { t.pictures(an, a.Pairs) }},
		{Moving, "Is it done moving?", t.moving},
		{Cracks, "Did the walls crack, and who mends that?", t.cracks},
		{Cause, "Is the cause mended?", t.cause},
		{Inspected, "Who inspected it?", t.inspected},
		{Care, "What must I do, or not do?", t.care},
		{Ring, "Whom do I ring, and until when?", t.ring},
		{Changed, "Was anything changed on the way?", func(an *answer) { t.changed(an, a.Changes) }},
		{Check, "How can I check this?", func(an *answer) { t.check(an, a.Shown) }},
	} {
		an := answer{}
		one.say(&an)
		a.Answers = append(a.Answers, an.told(one.key, one.ask))
	}
	a.Cautions = t.cautions()
	a.Words = t.glossary(a)
	return a
}

// answer is one answer as it is put together.
type answer struct {
	says  []string
	empty string // what is said where nothing was recorded
	facts []Fact
}

// say adds a sentence or a few, of one paragraph.
func (a *answer) say(words string) {
	if words != "" {
		a.says = append(a.says, words)
	}
}

// missing says what was not recorded, and what that means; it stands alone.
func (a *answer) missing(words string) { a.empty = "Not recorded: " + words }

func (a *answer) fact(name, value string, lines ...int64) {
	a.facts = append(a.facts, Fact{name, value, lines})
}

func (a *answer) told(key Key, ask string) Answer {
	out := Answer{Key: key, Ask: ask, Say: a.says, Facts: a.facts}
	if a.empty != "" {
		out.Empty, out.Say = true, append([]string{a.empty}, a.says...)
	}
	return out
}

// teller knows what answers are told from.
type teller struct {
	about   About
	picture jobs.Picture
	all     []jobs.Entry // what does not count too
	counts  []jobs.Entry // in the order in which things happened
	words   jobs.Words
	tracks  []Track
}

func newTeller(p jobs.Picture, entries []jobs.Entry, about About) *teller {
	if about.Zone == nil {
		about.Zone = time.UTC
	}
	return &teller{about: about, picture: p, all: entries, counts: jobs.Counting(entries), words: about.Firm.Words.Words()}
}

// lastAt is when something happened last, by the clock of the site.
func (t *teller) lastAt() time.Time {
	if at := t.picture.Brief.LastAt; !at.IsZero() {
		return at.In(t.about.Zone)
	}
	return time.Time{}
}

// of are the entries of some kinds that count, in the order in which things happened:
// a book has thousands of readings, and most questions are about a few records.
func (t *teller) of(kinds ...events.Kind) (out []jobs.Entry) {
	for _, e := range t.counts {
		if slices.Contains(kinds, e.Kind) {
			out = append(out, e)
		}
	}
	return out
}

func (t *teller) ties() []jobs.TieRecord {
	return jobs.Ties(t.of(events.KindTie, events.KindTieFreed, events.KindTieBack))
}

// lines are the numbers of those entries of a kind that a test picks, in the order in
// which they happened.
func lines[B any](t *teller, is func(*B) bool) (seqs []int64) {
	for _, e := range t.counts {
		if b, of := any(e.Body).(*B); of && is(b) {
			seqs = append(seqs, e.Seq)
		}
	}
	return seqs
}

// last is the last entry of a kind.
func last[B any](t *teller) (*B, jobs.Entry) {
	for i := len(t.counts) - 1; i >= 0; i-- {
		if b, of := any(t.counts[i].Body).(*B); of {
			return b, t.counts[i]
		}
	}
	return nil, jobs.Entry{}
}

// person names somebody of the firm.
func (t *teller) person(id events.ID) string {
	if name := t.about.Names[id]; name != "" {
		return name
	}
	return "somebody whose name is no longer kept"
}
