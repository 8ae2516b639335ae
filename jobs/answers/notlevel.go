package answers

import (
	"fmt"
	"math"
	"slices"

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
	a.fact("Places measured since anything moved there", fmt.Sprintf("%d of %d", len(all), t.drawn()))
	words := fmt.Sprintf("The floor is now up to %s out of level", now)
	if before := t.before(); len(before) > 1 {
		low, high := spread(before)
		was := t.length(high.MM - low.MM)
		words += fmt.Sprintf("; before the work it was %s", was)
		a.fact("Out of level before", was, append(t.readBefore(low.id), t.readBefore(high.id)...)...)
	}
	if len(all) < t.drawn() {
		words += fmt.Sprintf(". That is by the %d places of %d that were measured after the last move near them", len(all), t.drawn())
	}
	a.say(words + ".")
	return true
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
	a.say(fmt.Sprintf("By the rule that was agreed (%s): %s", v.Title, verdictSays(v.Verdict)))
	for _, part := range v.Parts {
		where := "The whole floor"
		if part.Room != "" {
			where = begins(part.Room)
		}
		for _, c := range part.Checks {
			a.fact(where+": "+t.about.Firm.Units.Respell(c.Rule), fmt.Sprintf("%s found between %s and %s: %s", t.about.Firm.Units.ShowLimit(c.FoundMM)+t.about.Firm.Units.Word(), c.Between[0], c.Between[1], jobs.VerdictWords(c.Verdict)))
		}
	}
	return true
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
			a.fact(s.ID+" is still to come up", t.figure(*s.Remaining), t.readLast(s.ID)...)
		case s.Remaining.MM < -t.within():
			above = append(above, s.ID)
			a.fact(s.ID+" stands higher than the rest", t.length(math.Abs(s.Remaining.MM)), t.readLast(s.ID)...)
		}
	}
	if len(short) > 0 {
		a.say(begins(fmt.Sprintf("%s %s not up to the agreed height yet.", t.some(short), are(len(short)))))
	}
	if len(above) > 0 {
		a.say(begins(fmt.Sprintf("%s stood higher than the rest before the work, or came up with what was lifted beside it, and %s left there: to bring a floor down takes something away from under it.", t.some(above), were(len(above)))))
	}
	if sd, known := t.usualSD(); known {
		a.say(fmt.Sprintf("A height measured here is itself only good to about %s.", t.about.Firm.Units.ShowSD(sd)+t.about.Firm.Units.Word()))
		a.fact("± of a height, usually", t.about.Firm.Units.ShowSD(sd)+t.about.Firm.Units.Word())
	}
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
