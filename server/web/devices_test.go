package web

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/jobs"
)

func TestLostWords(t *testing.T) {
	for want, missing := range map[string]jobs.Numbers{
		"":                                  nil,
		"1 record never arrived: number 12": {{12, 12}},
		"3 records never arrived: numbers 12 to 14":                     {{12, 14}},
		"4 records never arrived: numbers 2 to 4, 9":                    {{2, 4}, {9, 9}},
		"8 records never arrived: numbers 1, 3, 5, 7, 9, 11 and 2 more": {{1, 1}, {3, 3}, {5, 5}, {7, 7}, {9, 9}, {11, 11}, {13, 13}, {15, 15}},
	} {
		if got := LostWords(missing); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestPhoneSays(t *testing.T) {
	now := time.Date(2026, 3, 2, 15, 0, 0, 0, time.FixedZone("", 11*3600))
	at, kept := time.Date(2026, 3, 1, 23, 15, 0, 0, time.UTC), false
	for name, c := range map[string]struct {
		report *jobs.PhoneReport
		want   []string
	}{
		"Silent":    {nil, []string{"last heard 10:15"}},
		"Empty":     {&jobs.PhoneReport{}, []string{"last heard 10:15", "nothing left on it then"}},
		"Both":      {&jobs.PhoneReport{Unsent: 2, Photos: 5, OldestUnsentAt: at}, []string{"last heard 10:15", "2 records, 5 photos still on it, the oldest from 10:15"}},
		"OnePhoto":  {&jobs.PhoneReport{Photos: 1}, []string{"last heard 10:15", "1 photo still on it"}},
		"Temporary": {&jobs.PhoneReport{Unsent: 1, Persisted: &kept}, []string{"last heard 10:15", "1 record still on it", "its browser may clear them when space is short"}},
	} {
		if diff := cmp.Diff(c.want, PhoneSays(jobs.Phone{HeardAt: at, Report: c.report}, now)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}
