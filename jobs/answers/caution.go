package answers

import (
	"slices"

	"relevel/events"
	"relevel/jobs"
)

// NotCertificate stands under every account, and last.
const NotCertificate = "This tells what was measured and done. It is not an engineer’s certificate and no promise of how the floor will behave; local codes and licensed people decide."

// cautions are those that concern whoever lives on the floor or looks under it.
func (t *teller) cautions() []string {
	keys := []jobs.CautionKey{jobs.AskEngineer, jobs.ConfinedSpace}
	if slices.ContainsFunc(t.picture.Left, func(l jobs.Left) bool { return l.Dangerous }) {
		keys = append(keys, jobs.JackAlone)
	}
	if len(lines(t, func(b *events.SupportWork) bool { return b.Step == events.Poured })) > 0 {
		keys = append(keys, jobs.NewPad)
	}
	keys = append(keys, jobs.Asbestos, jobs.LocalFirst)
	var out []string
	for _, key := range keys {
		out = append(out, t.words.Say(jobs.CautionWords(key)))
	}
	return append(out, NotCertificate)
}
