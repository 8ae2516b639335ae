package jobs_test

import (
	"strings"
	"testing"

	"relevel/jobs"
)

// What names a rule names where it stands.
func TestCautions(t *testing.T) {
	for key, source := range map[jobs.CautionKey]string{
		jobs.JackAlone: "29 CFR 1926.305", jobs.ConfinedSpace: "29 CFR 1926.1202", jobs.Asbestos: "29 CFR 1926.1101",
		jobs.LeadPaint: "40 CFR 745", jobs.PowerAndGas: "MBIE",
	} {
		c, known := jobs.FindCaution(key)
		if !known || c.Text == "" || !strings.Contains(c.Source, source) {
			t.Errorf("%s: %+v", key, c)
		}
	}
	if _, known := jobs.FindCaution("weather"); known {
		t.Error("nobody wrote a caution about the weather")
	}
	const want = "Never rely on a jack alone above a person. Block at once what was raised, and before anybody goes below (29 CFR 1926.305). Saw no deeper than the boards."
	if got := jobs.CautionWords(jobs.JackAlone, "weather", jobs.BlockFirst, jobs.SawDepth); got != want {
		t.Errorf("%q", got)
	}
}
