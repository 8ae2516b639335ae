package answers_test

import (
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
)

// A job of which nothing is recorded says so to every question.
func TestNothingRecorded(t *testing.T) {
	a := answers.Of(jobs.New(events.ID{1}), nil, answers.About{Firm: jobs.Firm{Name: "Level Best"}})
	for _, an := range a.Answers {
		if !an.Empty || !strings.HasPrefix(an.Say[0], "Not recorded: ") {
			t.Errorf("%s: %q", an.Ask, an.Say)
		}
	}
	if last := a.Cautions[len(a.Cautions)-1]; last != answers.NotCertificate {
		t.Errorf("the last caution is %q", last)
	}
}
