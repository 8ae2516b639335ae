package jobs_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/jobs"
)

func TestTerms(t *testing.T) {
	for text, want := range map[string]string{
		"":                              "",
		"Wet rot, under the BATH":       "bath rot the under wet",
		"B2-3: water-damaged":           "3 b2 b2-3 damaged water water-damaged",
		"Māori Ōrākei, Łódź, Straße, Æ": "ae lodz maori orakei strasse",
		"e\u0301te\u0301 - 1/16 in":     "1 16 ete in",
		"-- -":                          "",
		"twice twice":                   "twice",
		strings.Repeat("x", 100):        strings.Repeat("x", 48),
	} {
		if diff := cmp.Diff(want, strings.Join(jobs.Terms(text), " ")); diff != "" {
			t.Errorf("%q (-want +got):\n%s", text, diff)
		}
	}
}

func TestAsked(t *testing.T) {
	for text, want := range map[string]string{
		" Élan  B2-3 élan ":       "elan b2-3",
		"a b c d e f g h i j":     "a b c d e f g h",
		"'; DROP TABLE job; -- %": "drop table job",
	} {
		if diff := cmp.Diff(want, strings.Join(jobs.Asked(text), " ")); diff != "" {
			t.Errorf("%q (-want +got):\n%s", text, diff)
		}
	}
}
