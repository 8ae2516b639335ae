package answers

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// decided says what the floor was to be brought to, by which rule, what stays out and
// who agreed.
func (t *teller) decided(a *answer) {
	aim := t.picture.Aim
	if aim == nil {
		a.missing("nobody wrote down what the floor was to be brought to, or by which rule it is level enough.")
		return
	}
	a.say(t.aimed(aim))
	a.fact("Agreed", aim.Words, aim.Seq)
	t.rule(a, aim)
	t.leftOut(a, aim)
	by := join(", ", aim.Agreed.AgreedBy, aim.Agreed.AgreedHow)
	a.say(fmt.Sprintf("This was agreed by %s on %s.", by, t.dayOf(aim.Seq)))
	a.fact("Agreed by", by+", "+t.dayOf(aim.Seq), aim.Seq)
}

// dayOf is the day of a line of the book.
func (t *teller) dayOf(seq int64) string {
	for _, e := range t.all {
		if e.Seq == seq {
			return t.on(e.At)
		}
	}
	return "a day that is not recorded"
}

func (t *teller) aimed(aim *jobs.Aim) string {
	switch aim.Agreed.Aim {
	case events.AimLevel:
		return "The floor was to be brought to one height everywhere."
	case events.AimHighest:
		if aim.SetBy != "" {
			return fmt.Sprintf("The highest place, %s, was to stay as it was, and all others were to come up to it.", t.place(aim.SetBy))
		}
		return "The highest place was to stay as it was, and all others were to come up to it."
	case events.AimPlane:
		return "The floor was to be brought to an even slope, which was kept on purpose, and not to one height."
	}
	return "The floor was to be lifted only as far as the rule asks, because every lift strains walls and pipes."
}

// rule says by what rule the floor is level enough, and what that rule asks.
func (t *teller) rule(a *answer, aim *jobs.Aim) {
	agreed := aim.Agreed.Tolerance
	if within := agreed.WithinMM; within > 0 {
		a.say(fmt.Sprintf("Each %s may end up to %s from the height it was meant to reach.", t.words.Support, t.length(within)))
		a.fact("May be off by", t.length(within), aim.Seq)
	}
	profile, known := toleranceOf(agreed)
	switch {
	case known:
		a.say(t.ruleSays(agreed, profile))
		a.fact("Rule", join(": ", profile.Title, profile.Cite()), aim.Seq)
		for _, r := range profile.Rules {
			a.fact("The rule asks", t.about.Firm.Units.Respell(r.String()), aim.Seq)
		}
	case agreed.WithinMM == 0:
		a.say("By which rule the floor is level enough was not recorded.")
	}
}

// ruleSays names the rule, or says that it is one of their own, and what it asks.
func (t *teller) ruleSays(agreed events.Tolerance, profile levelling.Profile) string {
	var asks []string
	for _, r := range profile.Rules {
		asks = append(asks, t.about.Firm.Units.Respell(r.String()))
	}
	asked := strings.Join(asks, "; ") + "."
	if agreed.Title == "" && agreed.Profile == "" {
		return "Level enough was to mean, by limits agreed with the owner: " + asked
	}
	return fmt.Sprintf("Level enough was to be judged by this rule: %s. It asks: %s", profile.Title, asked)
}

// toleranceOf is the profile that a tolerance names or states.
func toleranceOf(agreed events.Tolerance) (levelling.Profile, bool) {
	if len(agreed.Limits) > 0 {
		limits := make([]levelling.Limit, len(agreed.Limits))
		for i, l := range agreed.Limits {
			limits[i] = l.Levelling()
		}
		own := levelling.OwnLimits(limits)
		if agreed.Title != "" {
			own.Title = agreed.Title
		}
		if agreed.Source != "" {
			own.Source = agreed.Source
		}
		return own, true
	}
	profile, err := levelling.FindProfile(agreed.Profile)
	return profile, err == nil
}

func (t *teller) leftOut(a *answer, aim *jobs.Aim) {
	out := aim.Agreed.LeftOut
	if len(out) == 0 {
		a.say("Nothing was left out.")
		return
	}
	a.say(fmt.Sprintf("Left out, and not to be lifted: %s.", t.some(out)))
	var reasons []string
	for _, id := range out {
		why := aim.Agreed.WhyLeftOut(id)
		if why != "" && !slices.Contains(reasons, why) {
			reasons = append(reasons, why)
		}
		a.fact("Left out: "+id, cmp.Or(why, "no reason was recorded"), aim.Seq)
	}
	if len(reasons) == 0 {
		a.say("Why was not recorded.")
		return
	}
	a.say("Why: " + stopped(strings.Join(reasons, "; ")))
}
