package jobs_test

import (
	"regexp"
	"strings"
	"testing"

	"relevel/jobs"
)

var regions = []jobs.Region{jobs.Australia, jobs.NewZealand, jobs.BritainEire, jobs.NorthAmerica}

// A sentence in the code's words is said in those of each region; in the region whose
// words are the code's it is the same.
func TestSay(t *testing.T) {
	for sentence, want := range map[string]map[jobs.Region]string{
		"Read the staff on the datums": {jobs.NorthAmerica: "Read the rod on the benchmarks", jobs.NewZealand: "Read the staff on the datums"},
		"Underside of the bearer; the final packer, and old packers": {
			jobs.NorthAmerica: "Underside of the girder; the final shim, and old shims", jobs.BritainEire: "Underside of the bearer; the final packer, and old packers"},
		"Blocking is to hand; A3 on blocking": {
			jobs.Australia: "A pigsty is to hand; A3 on a pigsty", jobs.BritainEire: "Cribbing is to hand; A3 on cribbing", jobs.NewZealand: "Blocking is to hand; A3 on blocking"},
		"2 supports are on blocking at once":           {jobs.Australia: "2 supports are on pigsties at once", jobs.NorthAmerica: "2 supports are on cribbing at once"},
		"Everybody is out from under the floor":        {jobs.NorthAmerica: "Everybody is out of the crawl space", jobs.Australia: "Everybody is out from under the floor"},
		"Look under the floor":                         {jobs.NorthAmerica: "Look into the crawl space"},
		"Under the floor":                              {jobs.NorthAmerica: "Crawl space", jobs.NewZealand: "Under the floor"},
		"still under the floor, damp under the floor.": {jobs.NorthAmerica: "still in the crawl space, damp in the crawl space."},
		"staffing, packed and datum’s":                 {jobs.NorthAmerica: "staffing, packed and benchmark’s"},
		"Seen by the inspector, by an inspector":       {jobs.Australia: "Seen by the building surveyor, by a building surveyor", jobs.BritainEire: "Seen by building control, by building control", jobs.NorthAmerica: "Seen by the inspector, by an inspector"},
		"An agreed change; agreed changes":             {jobs.Australia: "A variation; variations", jobs.NorthAmerica: "A change order; change orders"},
		"The come-back period":                         {jobs.BritainEire: "The defects period", jobs.NorthAmerica: "The warranty period"},
		"½ mm of 3″ at Ōtaki’s bearer":                 {jobs.NorthAmerica: "½ mm of 3″ at Ōtaki’s girder"},
	} {
		for region, said := range want {
			if got := region.Words().Say(sentence); got != said {
				t.Errorf("%s says %q, want %q", region, got, said)
			}
			if got := region.Words().Say(said); got != said {
				t.Errorf("%s says its own %q as %q", region, said, got)
			}
		}
		if got := (jobs.Words{}).Say(sentence); got != sentence {
			t.Errorf("without a region %q is said as %q", sentence, got)
		}
	}
}

// Every word of the code is said by every region, one and several, in a sentence and at
// its beginning, with its article; and nothing that is said is a word of another region.
func TestSayings(t *testing.T) {
	code := []string{"bearer", "packer", "blocking", "staff", "datum", "under the floor", "inspector", "agreed change", "come-back period"}
	for _, r := range regions {
		w := r.Words()
		for i, said := range []string{w.Bearer, w.Packer, w.Blocking, w.Staff, w.Datum, "", w.Inspector, w.Change, w.ComeBack} {
			if said == "" {
				continue
			}
			for sentence, want := range map[string]string{code[i]: said, code[i] + "s": jobs.Several(said), strings.ToUpper(code[i][:1]) + code[i][1:]: strings.ToUpper(said[:1]) + said[1:]} {
				if got := w.Say(sentence); got != want {
					t.Errorf("%s says %q as %q, want %q", r, sentence, got, want)
				}
			}
		}
		wrong := regexp.MustCompile(`(?i)\b(a [aeiou]|an [^aeiou]|the building control|\w+ys\b)`)
		for _, s := range w.Sayings() {
			if got := w.Say(s.Code); got != s.Said {
				t.Errorf("%s says %q as %q, want %q", r, s.Code, got, s.Said)
			}
			if found := wrong.FindString(s.Said); found != "" {
				t.Errorf("%s says %q for %q", r, s.Said, s.Code)
			}
		}
	}
}
