package answers

import (
	"fmt"

	"relevel/jobs"
)

// cause says whether what made the floor sink is mended.
func (t *teller) cause(a *answer) {
	if len(t.picture.Found) == 0 {
		a.missing("nobody wrote down why the floor sank. If the cause is still there, the floor may drop again.")
		return
	}
	open := 0 // of those that may have made the floor sink
	for _, f := range t.picture.Found {
		what := foundWords(f)
		if f.Open {
			if f.Cause != "" || len(f.Supports) > 0 {
				open++
			}
			a.say(fmt.Sprintf("Not mended: %s.%s", what, t.whoSees(f)))
		} else {
			a.say(fmt.Sprintf("Mended on %s: %s. What was done: %s", t.on(f.ClosedAt), what, stopped(f.Closed)))
		}
		t.causeFact(a, f, what)
	}
	if open > 0 {
		a.say("Until it is mended the floor may drop again.")
	}
}

// foundWords says what was found, and why it is thought to be so.
func foundWords(f jobs.Finding) string {
	what := join(", ", f.What, f.Where)
	if f.Cause != "" {
		what += " (" + f.Cause + ")"
	}
	return what
}

// whoSees says who sees to a finding, and by when.
func (t *teller) whoSees(f jobs.Finding) string {
	who := f.Trade
	if who == "" && !f.Owner.IsZero() {
		who = t.person(f.Owner) + " of " + t.about.Firm.Name
	}
	switch {
	case who == "":
		return " Who sees to it was not recorded."
	case f.Due != "":
		return fmt.Sprintf(" To be seen to by %s, by %s.", who, jobs.DayWords(f.Due))
	}
	return fmt.Sprintf(" To be seen to by %s.", who)
}

func (t *teller) causeFact(a *answer, f jobs.Finding, what string) {
	value := "found " + t.on(f.At)
	if f.Due != "" {
		value += "; to be mended by " + jobs.DayWords(f.Due)
	}
	if !f.Open {
		value += "; mended " + t.on(f.ClosedAt) + ": " + f.Closed
	}
	seqs := []int64{f.Seq}
	for _, said := range f.Since {
		seqs = append(seqs, said.Seq)
	}
	a.fact(begins(what), value, seqs...)
}
