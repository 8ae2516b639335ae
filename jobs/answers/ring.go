package answers

import (
	"fmt"

	"relevel/events"
	"relevel/jobs"
)

// ring says whom the owner calls, and until when.
func (t *teller) ring(a *answer) {
	firm := t.about.Firm
	how := join(" or ", firm.Phone, firm.Mail)
	if how == "" {
		a.missing(fmt.Sprintf("no telephone number or e-mail address of %s was entered. They are on your agreement with them.", firm.Name))
	} else {
		a.say(fmt.Sprintf("%s: %s.", firm.Name, how))
		a.fact(firm.Name, how)
	}
	h, e := last[events.Handover](t)
	if h == nil {
		a.say("The work was not handed over yet.")
		return
	}
	a.say(fmt.Sprintf("The floor was handed over on %s.", jobs.DayWords(h.Date)))
	a.fact("Handed over", jobs.DayWords(h.Date)+", present: "+h.Present, e.Seq)
	if len(h.ComeBack) > 0 {
		var days []string
		for _, on := range h.ComeBack {
			days = append(days, jobs.DayWords(on))
		}
		a.say(fmt.Sprintf("They agreed to come back and measure on %s.", and(days)))
		a.fact("Come back", and(days), e.Seq)
	}
	a.say(fmt.Sprintf("Until when they answer for the work (the %s): not recorded here. Your agreement says it.", t.words.ComeBack))
}
