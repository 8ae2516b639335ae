package answers

import (
	"fmt"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// care says what the owner must do, or not do.
func (t *teller) care(a *answer) {
	h, e := last[events.Handover](t)
	if h != nil {
		for _, line := range strings.Split(h.Care, "\n") {
			a.say(ended(line))
		}
		if h.Care != "" {
			a.fact("Said at the hand-over on "+jobs.DayWords(h.Date), strings.ReplaceAll(h.Care, "\n", "; "), e.Seq)
		}
		if h.Papers != "" {
			a.say("Keep these papers: " + stopped(h.Papers))
			a.fact("Papers", h.Papers, e.Seq)
		}
	}
	t.toMend(a)
	t.notBack(a)
	t.newFootings(a)
	if len(a.says) == 0 {
		a.missing("nothing was written down for you to do or not to do.")
	}
}

// toMend lists what others are to mend.
func (t *teller) toMend(a *answer) {
	for _, f := range t.picture.Found {
		if f.Open {
			a.say(fmt.Sprintf("Have this mended, or ask who does: %s.", foundWords(f)))
			a.fact("To be mended", foundWords(f), f.Seq)
		}
	}
}

// notBack lists what is loose, off or left off.
func (t *teller) notBack(a *answer) {
	for _, tie := range t.ties() {
		if tie.State != jobs.TieFreed && tie.State != jobs.TieLeft {
			continue
		}
		what := join(", ", tie.Tie.What, tie.Tie.Where)
		a.say(fmt.Sprintf("This was loosened and is not back: %s. Ask before you use it.", what))
		a.fact("Not back", what, tie.Noted.Seq)
	}
}

// newFootings says from when they carry.
func (t *teller) newFootings(a *answer) {
	for _, s := range t.picture.Supports {
		for _, w := range s.Renewal {
			if w.Step == events.CarriesFrom && w.Done {
				a.fact(s.ID+": new footing", w.Words, w.Seq)
			}
		}
	}
	var pads []string
	for _, s := range t.picture.Supports {
		for _, w := range s.Renewal {
			if w.Step == events.Poured && w.Done {
				pads = append(pads, s.ID)
				a.fact(s.ID+": footing poured", t.on(w.At), w.Seq)
			}
		}
	}
	if len(pads) > 0 {
		a.say(fmt.Sprintf("New footings settle a little in their first months: those under %s. Keep water away from them.", t.some(pads)))
	}
}
