package answers

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// done says what was done, and what stands under the floor now.
func (t *teller) done(a *answer) {
	t.lifted(a)
	t.packed(a)
	t.renewed(a)
	t.fastened(a)
	t.tied(a)
	t.cut(a)
	if len(a.says) == 0 {
		a.missing("no work on the floor was written down.")
	}
	t.leftThere(a)
	t.signedFor(a)
}

// lifted says how far the floor came up.
func (t *teller) lifted(a *answer) {
	moved := lines(t, func(*events.Jacking) bool { return true })
	if len(moved) == 0 {
		return
	}
	most, at, n := 0.0, "", 0
	for _, r := range t.supportRows() {
		up, known := r.Lift()
		if !known || !r.AfterRead || t.length(up) == t.length(0) || up < 0 {
			continue
		}
		n++
		if up > most {
			most, at = up, r.ID
		}
	}
	days := t.days(moved)
	switch {
	case n == 0:
		a.say(fmt.Sprintf("The floor was jacked on %s. How far it came up was not measured yet.", count(days, "day")))
	default:
		a.say(fmt.Sprintf("The floor was jacked up a little at a time, on %s. It stands higher than before at %s, most at %s: by %s.", count(days, "day"), t.supports(n), t.place(at), t.length(most)))
		a.fact("Stands higher, most", at+", "+t.length(most), append(t.readBefore(at), t.readLast(at)...)...)
		a.fact("Stands higher", t.supports(n))
	}
	a.fact("Days of jacking", fmt.Sprint(days), ends(moved)...)
}

// ends are the first and the last of some lines.
func ends(seqs []int64) []int64 {
	if len(seqs) < 2 {
		return seqs
	}
	return []int64{seqs[0], seqs[len(seqs)-1]}
}

// days counts the days on which lines of the book were recorded.
func (t *teller) days(seqs []int64) int {
	on := map[string]bool{}
	for _, seq := range seqs {
		on[t.dayOf(seq)] = true
	}
	return len(on)
}

// packed says what lies between supports and bearers for good.
func (t *teller) packed(a *answer) {
	var packed []string
	of := map[string]int{}
	for _, s := range t.picture.Supports {
		if s.Packer == nil || s.Packer.Sort != events.Final {
			continue
		}
		packed = append(packed, s.ID)
		for _, piece := range s.Packer.Pieces {
			if _, material, said := strings.Cut(piece, " mm "); said {
				of[strings.ToLower(material)]++
			}
		}
	}
	if len(packed) == 0 {
		return
	}
	words := fmt.Sprintf("%s %s packed for good: solid pieces fill the gap up to the bearer", t.supports(len(packed)), are(len(packed)))
	if made := slices.Sorted(maps.Keys(of)); len(made) > 0 {
		words += ", made of " + and(made)
	}
	a.say(t.words.Say(words + "."))
	a.fact("Packed for good", t.supports(len(packed)), lines(t, func(b *events.Packing) bool { return b.Sort == events.Final && slices.Contains(packed, b.Support) })...)
}

// renewed says which supports were replaced.
func (t *teller) renewed(a *answer) {
	var all, pads []string
	for _, s := range t.picture.Supports {
		set, poured := false, false
		for _, w := range s.Renewal {
			set = set || w.Done && w.Step == events.Set
			poured = poured || w.Done && w.Step == events.Poured
			if w.Done {
				a.fact(s.ID+": "+w.Words, t.on(w.At), w.Seq)
			}
		}
		if set {
			all = append(all, s.ID)
		}
		if poured {
			pads = append(pads, s.ID)
		}
	}
	if len(all) > 0 {
		a.say(fmt.Sprintf("Replaced by new ones: %s.", t.some(all)))
	}
	if len(pads) > 0 {
		a.say(fmt.Sprintf("New concrete footings were poured under %s.", t.some(pads)))
	}
}

// fastened counts what was strapped or bolted.
func (t *teller) fastened(a *answer) {
	n := 0
	for _, s := range t.picture.Supports {
		if s.Fixed {
			n++
		}
	}
	if n == 0 {
		return
	}
	a.say(fmt.Sprintf("%d of %s %s fastened to the timber above.", n, t.supports(t.drawn()), are(n)))
	a.fact("Fastened", fmt.Sprintf("%d of %d", n, t.drawn()), lines(t, func(b *events.SupportWork) bool { return b.Step == events.Refixed })...)
}

// tied says what was loosened for the work and what became of it.
func (t *teller) tied(a *answer) {
	for _, tie := range t.ties() {
		what := join(", ", tie.Tie.What, tie.Tie.Where)
		seqs := []int64{tie.Noted.Seq}
		if tie.Freed != nil {
			seqs = append(seqs, tie.Freed.Seq)
		}
		if tie.Back != nil {
			seqs = append(seqs, tie.Back.Seq)
		}
		switch tie.State {
		case jobs.TieBack:
			a.say(fmt.Sprintf("Loosened for the work, put back and tested: %s.", what))
		case jobs.TieLeft:
			a.say(fmt.Sprintf("Loosened for the work and left off on purpose: %s.", what))
		case jobs.TieFreed:
			a.say(fmt.Sprintf("Loosened for the work and not put back yet: %s.", what))
		default:
			continue
		}
		a.fact(begins(what), tieFact(tie), seqs...)
	}
}

func tieFact(tie jobs.TieRecord) string {
	words := string(tie.State)
	if tie.Back != nil {
		if b, is := tie.Back.Body.(*events.TieBack); is {
			words = join(": ", words, join("; ", b.Tested, b.Left))
		}
	}
	return join(", ", words, tie.Trade)
}

// cut says where the floor was opened, and whether it is closed.
func (t *teller) cut(a *answer) {
	for _, it := range t.picture.Lists.Cuts {
		switch {
		case it.Open:
			a.say(fmt.Sprintf("The floor was opened, %s, and is not closed for good yet.", it.Text))
		case it.Closed == "recorded again":
			continue
		default:
			a.say(fmt.Sprintf("The floor was opened, %s, and closed again: %s", it.Text, stopped(it.Closed)))
		}
		a.fact("Floor opened: "+it.Text, t.on(it.At)+closedWords(it), it.Seq)
	}
}

func closedWords(it jobs.Item) string {
	if it.Closed == "" {
		return ""
	}
	return "; " + it.Closed
}

// notFinished are the sorts of things that are left only for now.
var notFinished = []struct{ left, one, many string }{
	{"on a jack", "is still carried by a jack", "are still carried by jacks"},
	{"out", "is taken out, and not back yet", "are taken out, and not back yet"},
	{"on blocking", "is carried by stacked timber for now", "are carried by stacked timber for now"},
}

// leftThere says what stands under the floor only for now.
func (t *teller) leftThere(a *answer) {
	for _, sort := range notFinished {
		var at []string
		for _, l := range t.picture.Left {
			if l.What == sort.left {
				at = append(at, l.Place)
				a.fact(l.Place+" "+t.words.Say(l.What), "since "+t.on(l.Since), l.Seq)
			}
		}
		switch len(at) {
		case 0:
		case 1:
			a.say(fmt.Sprintf("Not finished: %s %s.", t.some(at), sort.one))
		default:
			a.say(fmt.Sprintf("Not finished: %s %s.", t.some(at), sort.many))
		}
	}
	for _, e := range t.counts {
		if b, is := e.Body.(*events.Signed); is && b.BlockingStays != "" {
			a.say(fmt.Sprintf("Stacked timber was left under the floor on purpose at %s: %s", b.Support, stopped(b.BlockingStays)))
			a.fact(b.Support+" "+t.words.Say("on blocking"), b.BlockingStays, e.Seq)
		}
	}
}

// signedFor says how much of it somebody put their name to.
func (t *teller) signedFor(a *answer) {
	n, lapsed := 0, 0
	var seqs []int64
	for _, s := range t.picture.Supports {
		switch {
		case s.Signature == nil:
		case s.Signature.Lapsed != "":
			lapsed++
		default:
			n++
			if !slices.Contains(seqs, s.Signature.Seq) {
				seqs = append(seqs, s.Signature.Seq)
			}
		}
	}
	if n+lapsed == 0 {
		return
	}
	a.say(fmt.Sprintf("%s measured and signed for %d of %s.", t.about.Firm.Name, n, t.supports(t.drawn())))
	a.fact("Signed for", fmt.Sprintf("%d of %d", n, t.drawn()), seqs...)
	if lapsed > 0 {
		a.say(fmt.Sprintf("Something moved or was changed at %s after somebody signed for %s, so that %s to be measured again.", t.supports(lapsed), it(lapsed), theyAre(lapsed)))
		a.fact("Signature lapsed", fmt.Sprint(lapsed))
	}
}

func theyAre(n int) string {
	if n == 1 {
		return "it is"
	}
	return "they are"
}

func it(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}
