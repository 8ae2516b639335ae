package answers

import (
	"fmt"
	"math"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// tracksOf tells of each place that was read again what that says.
func (t *teller) tracksOf(all []jobs.Track) []Track {
	out := make([]Track, len(all))
	for i, one := range all {
		one.From = one.From.In(t.about.Zone)
		for j := range one.Reads {
			one.Reads[j].On = one.Reads[j].On.In(t.about.Zone)
		}
		out[i] = Track{Track: one, Place: t.place(one.ID), Say: t.trackSays(one)}
	}
	return out
}

// TrendWords says a verdict as owners read it.
func TrendWords(v levelling.TrendVerdict) string {
	switch v {
	case levelling.Moving:
		return "moving"
	case levelling.Stable:
		return "not seen to move"
	}
	return "too early to say"
}

// IsMoving reports whether the place was seen to move.
func (one Track) IsMoving() bool { return one.Verdict == levelling.Moving }

func (t *teller) trackSays(one jobs.Track) string {
	words := TrendWords(one.Verdict)
	if one.Verdict == levelling.Moving && one.MMPerMonth != nil {
		way := "up"
		if *one.MMPerMonth < 0 {
			way = "down"
		}
		words += ", " + way
	}
	return words
}

// moving says whether the floor has come to rest.
func (t *teller) moving(a *answer) {
	if len(t.tracks) == 0 {
		a.missing("the floor was not measured again since the work was done, so that nobody can say yet whether it still moves.")
	}
	by := map[levelling.TrendVerdict][]string{}
	for _, one := range t.tracks {
		by[one.Verdict] = append(by[one.Verdict], one.ID)
	}
	if ids := by[levelling.Moving]; len(ids) > 0 {
		a.say(fmt.Sprintf("It is moving at %s. Ring us.", t.someOf(ids)))
	}
	if ids := by[levelling.Stable]; len(ids) > 0 {
		a.say(fmt.Sprintf("It is not seen to move at %s. That does not promise that it never will.", t.someOf(ids)))
	}
	if ids := by[levelling.TooSoon]; len(ids) > 0 {
		a.say(fmt.Sprintf("It is too early to say at %s. The ground swells and shrinks with the seasons: it takes measurements over a year, or in the same season, to tell.", t.someOf(ids)))
	}
	t.onceOnly(a)
	t.padsSettle(a)
	t.comeBack(a)
	for _, one := range t.tracks {
		t.trackFact(a, one)
	}
}

// onceOnly says how many places cannot be compared with themselves yet.
func (t *teller) onceOnly(a *answer) {
	n := 0
	for _, one := range t.tracks {
		if len(one.Reads) == 1 {
			n++
		}
	}
	if n > 0 {
		a.say(fmt.Sprintf("%s %s measured on one day only since the work, so that there is nothing to compare yet.", count(n, "place"), were(n)))
		a.fact("Measured on one day only", count(n, "place"))
	}
}

// someOf names places, shortened where there are many.
func (t *teller) someOf(ids []string) string {
	if len(ids) > mostNamed {
		return fmt.Sprintf("%d places, among them %s", len(ids), and(ids[:mostNamed]))
	}
	if len(ids) == 1 {
		return t.place(ids[0])
	}
	return and(ids)
}

func (t *teller) trackFact(a *answer, one Track) {
	_, why, _ := strings.Cut(one.Words, ": ") // before it stands the verdict
	a.fact(begins(one.Place), join("; ", one.Say, t.changedBy(one), t.about.Firm.Units.Respell(why)), t.readSince(one)...)
}

// changedBy says how much higher or lower a place was read last than first, "" where
// it was read on one day.
func (t *teller) changedBy(one Track) string {
	if len(one.Reads) == 1 {
		return ""
	}
	first, last := one.Reads[0], one.Reads[len(one.Reads)-1]
	by := last.MM - first.MM
	switch {
	case t.length(math.Abs(by)) == t.length(0):
		return fmt.Sprintf("the same on %s as on %s", t.on(last.On), t.on(first.On))
	case by > 0:
		return fmt.Sprintf("%s higher on %s than on %s", t.length(by), t.on(last.On), t.on(first.On))
	}
	return fmt.Sprintf("%s lower on %s than on %s", t.length(-by), t.on(last.On), t.on(first.On))
}

// readSince are the lines of the readings of a track.
func (t *teller) readSince(one Track) (seqs []int64) {
	first := one.Reads[0].On.AddDate(0, 0, -1)
	for _, e := range t.counts {
		if b, is := e.Body.(*events.Reading); is && b.Point == one.ID && b.NotRead == "" && b.Face == one.Face && e.At.After(first) {
			seqs = append(seqs, e.Seq)
		}
	}
	return seqs
}

// padsSettle says where new footings are among the places.
func (t *teller) padsSettle(a *answer) {
	var pads []string
	for _, one := range t.tracks {
		if one.NewPad {
			pads = append(pads, one.ID)
		}
	}
	if len(pads) > 0 {
		a.say(fmt.Sprintf("%s on new footings, which settle a little at first.", begins(t.some(pads))+" "+stands(len(pads))))
	}
}

func stands(n int) string {
	if n == 1 {
		return "stands"
	}
	return "stand"
}

// comeBack says which visits were agreed and kept.
func (t *teller) comeBack(a *answer) {
	h, e := last[events.Handover](t)
	if h == nil {
		return
	}
	var coming []string
	for _, v := range jobs.Visits(h.ComeBack, t.of(events.KindReading), e.At, t.about.Now.In(t.about.Zone)) {
		on := jobs.DayWords(v.On)
		switch {
		case v.Kept != "":
			a.fact("To be measured again "+on, "measured on "+jobs.DayWords(v.Kept), e.Seq)
		case v.Due:
			a.say(fmt.Sprintf("It was to be measured again on %s, and was not.", on))
			a.fact("To be measured again "+on, "not measured", e.Seq)
		default:
			coming = append(coming, on)
			a.fact("To be measured again "+on, "to come", e.Seq)
		}
	}
	if len(coming) > 0 {
		a.say(fmt.Sprintf("It will be measured again on %s.", and(coming)))
	}
}
