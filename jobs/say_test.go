package jobs_test

import (
	"testing"

	"relevel/jobs"
)

// A sentence in the code's words is said in those of each region; in the region whose
// words are the code's it is the same.
func TestSay(t *testing.T) {
	for sentence, want := range map[string]map[jobs.Region]string{
		"Read the staff on the datums": {jobs.NorthAmerica: "Read the rod on the benchmarks", jobs.NewZealand: "Read the staff on the datums"},
		"Underside of the bearer; the final packer, and old packers": {
			jobs.NorthAmerica: "Underside of the girder; the final shim, and old shims", jobs.BritainEire: "Underside of the bearer; the final packer, and old packers"},
		"Blocking is to hand; A3 on blocking": {
			jobs.Australia: "Pigsty is to hand; A3 on a pigsty", jobs.BritainEire: "Cribbing is to hand; A3 on cribbing", jobs.NewZealand: "Blocking is to hand; A3 on blocking"},
		"Everybody is out from under the floor": {jobs.NorthAmerica: "Everybody is out of the crawl space", jobs.Australia: "Everybody is out from under the floor"},
		"Look under the floor":                  {jobs.NorthAmerica: "Look into the crawl space"},
		"staffing, packed and datum’s":          {jobs.NorthAmerica: "staffing, packed and benchmark’s"},
	} {
		for region, said := range want {
			if got := region.Words().Say(sentence); got != said {
				t.Errorf("%s says %q, want %q", region, got, said)
			}
		}
	}
}
