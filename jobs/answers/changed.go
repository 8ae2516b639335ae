package answers

import (
	"fmt"

	"relevel/jobs"
)

// changes are the changes to what was agreed, as they were put.
func (t *teller) changes() (out []Change) {
	for _, c := range t.picture.Changes {
		one := Change{
			ID: c.ID, Put: c.At.In(t.about.Zone), What: c.What, Amount: jobs.AmountWords(c.Amount, c.Currency),
			State: c.State, Files: c.Files, Seq: c.Seq,
		}
		if c.Answer != nil {
			one.Answer = fmt.Sprintf("%s, %s", c.Answer.Text, t.on(c.Answer.At))
		} else {
			one.Answer = c.Closed
		}
		out = append(out, one)
	}
	return out
}

// changed says what was changed on the way, and what waits for the owner.
func (t *teller) changed(a *answer, all []Change) {
	if len(all) == 0 {
		a.missing(fmt.Sprintf("no change to what was agreed (a %s) was put to you.", t.words.Change))
		return
	}
	open := 0
	for _, c := range all {
		value := join(", ", c.Amount, "put "+t.on(c.Put), c.Answer)
		a.fact(c.What, value, c.Seq)
		switch c.State {
		case jobs.ChangeAsked:
			open++
			a.say(fmt.Sprintf("Waits for your answer: %s", stopped(join(": ", c.What, c.Amount))))
		case jobs.ChangeAgreed:
			a.say(fmt.Sprintf("Accepted: %s", stopped(join(": ", c.What, c.Amount))))
		case jobs.ChangeDeclined:
			a.say(fmt.Sprintf("Declined: %s", stopped(join(": ", c.What, c.Amount))))
		default:
			a.say(fmt.Sprintf("Taken back: %s", stopped(join(": ", c.What, c.Amount))))
		}
	}
	for _, sum := range jobs.Agreed(t.picture.Changes) {
		a.say(fmt.Sprintf("Accepted in all: %s.", sum.Words()))
		a.fact("Accepted in all", sum.Words())
	}
}
