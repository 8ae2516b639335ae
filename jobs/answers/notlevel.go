package answers

import (
	"fmt"
	"math"
	"slices"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// notLevel says how level the floor is now, and why it is no more than that.
func (t *teller) notLevel(a *answer) {
	known := t.levelNow(a)
	judged := t.judged(a)
	if !known && !judged {
		a.missing("the floor was not measured since the work, so that nobody can say how level it is now.")
		return
	}
	t.whyNot(a)
}

// levelNow says how far out of level the floor is now.
func (t *teller) levelNow(a *answer) bool {
	all := t.after()
	if len(all) < 2 {
		return false
	}
	low, high := spread(all)
	now := t.length(high.MM - low.MM)
	a.fact("Out of level now", now, append(t.readLast(low.id), t.readLast(high.id)...)...)
	a.fact("Lowest place now", low.id+", "+t.figure(low.Figure), t.readLast(low.id)...)
	a.fact("Highest place now", high.id+", "+t.figure(high.Figure), t.readLast(high.id)...)
	of := t.measurable()
	a.fact("Places measured since anything moved there", fmt.Sprintf("%d of %d", len(all), of))
	t.heightsFrom(a)
	a.say(fmt.Sprintf("The floor is now up to %s out of level%s%s.", now, t.words.Say(t.measuredOn()), t.wasBefore(a)))
	if len(all) < of {
		a.say(fmt.Sprintf("That is by %d places of %d: the others were not measured since something was moved near them.", len(all), of))
	}
	return true
}

// wasBefore says how far out of level the floor was, once anything was lifted.
func (t *teller) wasBefore(a *answer) string {
	before := t.before()
	if len(lines(t, func(*events.Jacking) bool { return true })) == 0 {
		return "; nothing was lifted yet"
	}
	if len(before) < 2 {
		return ""
	}
	low, high := spread(before)
	was := t.length(high.MM - low.MM)
	a.fact("Out of level before", was, append(t.readBefore(low.id), t.readBefore(high.id)...)...)
	return "; before the work it was " + was
}

// measurable counts the places at which the floor could be compared.
func (t *teller) measurable() int {
	n := t.drawn()
	for _, s := range t.picture.Spots {
		if t.onFace(s) {
			n++
		}
	}
	return n
}

// drawn counts the supports that are there.
func (t *teller) drawn() (n int) {
	for _, s := range t.picture.Supports {
		if !s.NoneHere {
			n++
		}
	}
	return n
}

// judged says what the agreed rule says of the floor as it lies.
func (t *teller) judged(a *answer) bool {
	v := t.picture.Verdict
	if v == nil {
		return false
	}
	a.say(fmt.Sprintf("By the rule that was agreed, %s", verdictSays(v.Verdict)+t.failing(v)))
	for _, part := range v.Parts {
		t.checked(a, part)
	}
	return true
}

// checked gives what the rule asks in one room, and what was found.
func (t *teller) checked(a *answer, part jobs.PartVerdict) {
	u := t.about.Firm.Units
	where := "The whole floor"
	if part.Room != "" {
		where = begins(part.Room)
	}
	for _, c := range part.Checks {
		a.fact(where+": "+u.Respell(c.Rule), fmt.Sprintf("%s between %s and %s: %s", t.limit(c.FoundMM), c.Between[0], c.Between[1], jobs.VerdictWords(c.Verdict)),
			append(t.readLast(c.Between[0]), t.readLast(c.Between[1])...)...)
	}
}

// failing says where the floor is outside the rule.
func (t *teller) failing(v *jobs.Verdict) string {
	var where []string
	for _, part := range v.Parts {
		if part.Verdict != levelling.Outside {
			continue
		}
		if part.Room == "" {
			where = append(where, "across the whole floor")
		} else {
			where = append(where, "in the "+bare(part.Room))
		}
	}
	if len(where) == 0 {
		return ""
	}
	return " Not level enough by it: " + and(where) + "."
}

// verdictSays says a verdict in an owner's words.
func verdictSays(v levelling.Verdict) string {
	switch v {
	case levelling.Within:
		return "the floor is level enough."
	case levelling.Outside:
		return "the floor is not level enough everywhere."
	case levelling.ReadAgain:
		return "one more measurement is needed to tell."
	case levelling.TooClose:
		return "it is too close to tell by what was measured."
	case levelling.Indicated:
		return "the floor should be re-levelled."
	case levelling.NotIndicated:
		return "the floor need not be re-levelled."
	}
	return "it was not judged."
}

// whyNot gives the reasons that the record has.
func (t *teller) whyNot(a *answer) {
	if aim := t.picture.Aim; aim != nil {
		a.say(t.asAgreed(aim))
	}
	var above, short []string
	for _, s := range t.picture.Supports {
		switch {
		case s.NoneHere || s.LeftOut || s.Remaining == nil:
		case s.Remaining.MM > t.within():
			short = append(short, s.ID)
			a.fact(s.ID+" is lower than was agreed", t.figure(*s.Remaining), t.readLast(s.ID)...)
		case s.Remaining.MM < -t.within():
			above = append(above, s.ID)
			a.fact(s.ID+" stands higher than the rest", t.length(math.Abs(s.Remaining.MM)), t.readLast(s.ID)...)
		}
	}
	if len(short) > 0 {
		a.say(begins(fmt.Sprintf("%s %s lower than was agreed.", t.some(short), lies(len(short)))))
	}
	if len(above) > 0 {
		a.say(begins(fmt.Sprintf("%s stood higher than the rest before the work, or came up with what was lifted beside it, and %s left there: to bring a floor down takes something away from under it.", t.some(above), were(len(above)))))
	}
	if sd, known := t.usualSD(); known {
		off := t.about.Firm.Units.ShowSD(sd) + t.about.Firm.Units.Word()
		a.say(fmt.Sprintf("A height measured like this is itself only good to about %s.", off))
		a.fact("How far off a height may be, usually", off)
	}
}

func lies(n int) string {
	if n == 1 {
		return "lies"
	}
	return "lie"
}

// within is how far off its height a support may stay.
func (t *teller) within() float64 {
	if aim := t.picture.Aim; aim != nil && aim.Agreed.Tolerance.WithinMM > 0 {
		return aim.Agreed.Tolerance.WithinMM
	}
	return 0.5
}

func (t *teller) asAgreed(aim *jobs.Aim) string {
	if len(aim.Agreed.LeftOut) > 0 {
		return fmt.Sprintf("It was agreed how level is level enough, and that %s would not be lifted.", t.some(aim.Agreed.LeftOut))
	}
	return "It was agreed how level is level enough, and the floor was not to be lifted further than that."
}

// usualSD is the middle one of the ± of the heights as they are now.
func (t *teller) usualSD() (float64, bool) {
	var all []float64
	for _, one := range t.after() {
		all = append(all, one.SD)
	}
	if len(all) == 0 {
		return 0, false
	}
	slices.Sort(all)
	return all[len(all)/2], true
}
