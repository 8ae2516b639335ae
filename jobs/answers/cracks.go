package answers

import (
	"fmt"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// cracks says what was written down of walls before the first lift, what was watched
// while the floor moved, and who mends what opened.
func (t *teller) cracks(a *answer) {
	rooms := t.conditions(a)
	gaps := t.gaps(a)
	if rooms+gaps == 0 {
		a.missing("nobody wrote down how walls, ceilings and doors were before the work, and no crack was watched, so that the record cannot tell old cracks from new ones.")
		return
	}
	if gaps == 0 {
		a.say("No crack was watched while the floor moved.")
	}
	t.menders(a)
}

// conditions counts the rooms that were written down before the first lift.
func (t *teller) conditions(a *answer) int {
	rooms := map[string]bool{}
	for _, it := range t.picture.Lists.Conditions {
		rooms[it.Name] = true
		a.fact(begins(it.Name)+" before the work, "+t.on(it.At), it.Text, it.Seq)
	}
	if n := len(rooms); n > 0 {
		a.say(fmt.Sprintf("How walls, ceilings, doors and windows were before the work was written down for %s.", count(n, "room")))
		a.fact("Rooms written down", fmt.Sprint(n), lines(t, func(*events.Condition) bool { return true })...)
	}
	return len(rooms)
}

// gaps tells of every crack or gap that was watched how it changed.
func (t *teller) gaps(a *answer) int {
	watched := jobs.WatchedGaps(t.of(events.KindGapReading))
	for _, g := range watched {
		first, now := g.Readings[0].MM, g.Readings[len(g.Readings)-1].MM
		var values []string
		var seqs []int64
		for _, r := range g.Readings {
			values = append(values, t.limit(r.MM)+" on "+t.on(r.At))
			seqs = append(seqs, r.Entry.Seq)
		}
		words := fmt.Sprintf("%s: %s wide at first", begins(join(", ", g.Name, g.Near)), t.limit(first))
		switch {
		case len(g.Readings) == 1:
			words += ", and not measured again."
		case t.limit(now) == t.limit(first):
			words += ", and the same when it was measured last."
		case now > first:
			words += fmt.Sprintf(", %s when it was measured last. It opened.", t.limit(now))
		default:
			words += fmt.Sprintf(", %s when it was measured last. It closed somewhat.", t.limit(now))
		}
		a.say(words)
		a.fact(begins(g.Name), strings.Join(values, ", "), seqs...)
	}
	return len(watched)
}

// menders says who mends what cracked, as far as findings name a trade.
func (t *teller) menders(a *answer) {
	named := false
	for _, f := range t.picture.Found {
		if !strings.Contains(strings.ToLower(f.What), "crack") || f.Trade == "" {
			continue
		}
		named = true
		state := "not mended yet"
		if !f.Open {
			state = "mended: " + f.Closed
		}
		a.say(fmt.Sprintf("Who mends it: %s (%s).", f.Trade, join(", ", f.What, f.Where, state)))
		a.fact(begins(join(", ", f.What, f.Where)), f.Trade+", "+state, f.Seq)
	}
	if !named {
		a.say("Who mends cracks: not recorded.")
	}
}
