package answers

import (
	"fmt"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// inspected says who inspected what, and what they answered.
func (t *teller) inspected(a *answer) {
	all := jobs.Inspections(t.of(events.KindInspection))
	if len(all) == 0 {
		a.missing("no inspection. Whether one was needed is for your local authority to say.")
		return
	}
	for _, i := range all {
		answer := map[string]string{"passed": "passed", "again": "did not pass yet, and is to be inspected again", "refused": "refused"}[i.Answer]
		if i.Answer != "passed" && !i.Waiting {
			answer += "; it passed later"
		}
		a.say(fmt.Sprintf("%s, inspected by %s on %s: %s.", begins(i.Stage), i.Who, t.on(i.Entry.At), answer))
		a.fact(begins(i.Stage), join(", ", i.Who, t.on(i.Entry.At), i.Answer, strings.Join(i.Supports, ", "), i.Note), i.Entry.Seq)
	}
}
