package answers

import (
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// supportRows are the supports of the plan that are there, or were.
func (t *teller) supportRows() []SupportRow {
	out := make([]SupportRow, 0, len(t.picture.Supports))
	for _, s := range t.picture.Supports {
		if s.NoneHere {
			continue
		}
		r := SupportRow{
			ID: s.ID, Bearer: s.Bearer, Survey: s.Survey, AsFound: s.AsFound, Target: s.Target, After: s.Present,
			AfterRead: s.Basis == jobs.WasRead && !s.Stale, Work: t.workOn(s), Fixed: s.Fixed,
			LeftOut: s.LeftOut, State: t.stateOf(s), Seq: s.LastSeq,
		}
		if s.Packer != nil && s.Packer.Sort == events.Final {
			r.Packer = strings.Join(s.Packer.Pieces, ", ")
		}
		if aim := t.picture.Aim; s.LeftOut && aim != nil {
			r.LeftOutBecause = aim.Agreed.WhyLeftOut(s.ID)
		}
		if g := s.Signature; g != nil && g.Lapsed == "" {
			r.Who, r.When = t.person(g.By), g.At.In(t.about.Zone)
		}
		out = append(out, r)
	}
	return out
}

// workOn says what was renewed at a support.
func (t *teller) workOn(s jobs.Support) string {
	did := func(step events.WorkStep) bool {
		return slices.ContainsFunc(s.Renewal, func(w jobs.WorkDone) bool { return w.Done && w.Step == step })
	}
	var words []string
	if did(events.Set) {
		words = append(words, "new "+t.words.Support)
	}
	if did(events.Poured) {
		words = append(words, "new footing")
	}
	return and(words)
}

// stateOf says how a support stands, in an owner's words.
func (t *teller) stateOf(s jobs.Support) string {
	if s.LeftOut {
		return "left out, as agreed"
	}
	return map[jobs.Standing]string{
		jobs.IsFound:     "not measured yet",
		jobs.IsRead:      "measured",
		jobs.OnJack:      "carried by a jack",
		jobs.OnTemporary: "packed for now",
		jobs.OnBlocking:  "carried by stacked timber for now",
		jobs.IsOut:       "taken out",
		jobs.IsPacked:    "packed for good, the jack still there",
		jobs.IsDown:      "stands on its packing",
		jobs.IsFixed:     "packed and fastened",
		jobs.IsSigned:    "finished and signed for",
		jobs.HasLapsed:   "to be measured again",
		jobs.IsStopped:   "work stopped here",
	}[s.State]
}
