package server_test

import (
	"regexp"
	"strings"
	"testing"

	"relevel/jobs"
	"relevel/levelling"
)

// tradeWords are what some region calls a thing of the trade, as one looks for it.
var tradeWords = map[string]string{
	"stump": `stumps?`, "pile": `piles?`, "pier": `piers?`, "post": `posts?`, "bearer": `bearers?`, "girder": `girders?`, "packer": `packers?`, "shim": `shims?`,
	"pigsty": `pigst(?:y|ies)`, "blocking": `blockings?`, "cribbing": `cribbings?`, "staff": `staffs?`, "rod": `rods?`, "datum": `datums?|data`, "benchmark": `benchmarks?`,
	"under the floor": `under the floor`, "crawl space": `crawl spaces?`, "variation": `variations?`, "change order": `change orders?`,
	"defects period": `defects periods?`, "warranty period": `warranty periods?`, "building inspector": `building inspectors?`, "building surveyor": `building surveyors?`, "building control": `building control`,
}

// notOf are the words that another region has, and this one has not.
func notOf(r jobs.Region) *regexp.Regexp {
	w := r.Words()
	own := map[string]bool{}
	for _, word := range []string{w.Support, w.Bearer, w.Packer, w.Blocking, w.Staff, w.Datum, w.Under, w.Inspector, w.Change, w.ComeBack} {
		own[word] = true
	}
	var foreign []string
	for word, pattern := range tradeWords {
		if !own[word] {
			foreign = append(foreign, pattern)
		}
	}
	return regexp.MustCompile(`(?i)\b(?:` + strings.Join(foreign, "|") + `)\b`)
}

// staysForeign is what says a word of another region, and why.
var staysForeign = []string{
	"page /jobs/{job}/plan/import: ", // a sheet, its columns and what they take: a file format
	"page /jobs/{job}/book/import: ", // the same
	"page /jobs/{job}/record/plan",   // the plan as JSON: the names of its fields
	"page /firm: ",                   // what each region calls things, to choose from
	"stump, pile, pier or post",      // sorts of support: an old house has others than the region's
	"a pier is capped",               // published rules, as they are published
	"one pile is packed", "bearer and pile top", "packers are of H3.2", "replaced beyond it; packers", "bearer is fixed again (MBIE", "; shims are 4 by 6", "US: shims are",
}

// In each region no page calls a thing of the trade as another region does, but for what
// people typed.
func TestWordsOfEveryPage(t *testing.T) {
	for _, region := range []jobs.Region{jobs.Australia, jobs.NewZealand, jobs.BritainEire, jobs.NorthAmerica} {
		t.Run(string(region), func(t *testing.T) {
			clock := newHandClock()
			s := newSite(t, withClock(clock))
			h := newHouse(t, s, clock, jobs.Firm{Words: region, Units: levelling.Millimetre}, lordHowe)
			foreign := notOf(region)
			h.pages(t, func(path, text string) {
				for _, at := range foreign.FindAllStringIndex(text, -1) {
					if said := "page " + path + ": " + around(text, at); !isAny(said, staysForeign) {
						t.Error(said)
					}
				}
			})
		})
	}
}

// typed is what people type, and what becomes of it where it is taken for words of the
// program.
var typed = map[string]string{
	"hall": "bearer hall|girder hall", "crossed hardwood": "old bearers|old girders", "waste pipe": "staff pipe|rod pipe", "the owner": "the datum man|the benchmark man",
	"a new step": "blocking off a step|cribbing off a step", "rain": "rain under the floor|rain in the crawl space", "a hand": "a packer boy|a shim boy", "K1": "datum K1|benchmark K1",
	"L1": "bearer L1|girder L1", "G1": "Packer gap|Shim gap", "sunk": "bearer sunk|girder sunk", "hatch shut": "packers stowed|shims stowed", "near miss": "staff fell|rod fell", "misread": "staff misread|rod misread",
}

// What people typed, and what they named, is shown as they did, though a region has
// other words for it.
func TestTypedWordsStay(t *testing.T) {
	clock := newHandClock()
	s := newSite(t, withClock(clock))
	var replace []string
	for was, both := range typed {
		is, _, _ := strings.Cut(both, "|")
		replace = append(replace, `"`+was+`"`, `"`+is+`"`)
	}
	h := newHouseOf(t, s, clock, jobs.Firm{Words: jobs.NorthAmerica, Units: levelling.Millimetre}, lordHowe, strings.NewReplacer(replace...))
	shown := map[string]bool{}
	h.pages(t, func(path, text string) {
		for was, both := range typed {
			is, said, _ := strings.Cut(both, "|")
			shown[was] = shown[was] || strings.Contains(text, is)
			if at := strings.Index(text, said); at >= 0 {
				t.Errorf("page %s: %s", path, around(text, []int{at, at + len(said)}))
			}
		}
	})
	for was := range typed {
		if !shown[was] {
			t.Errorf("what is typed in place of %q is on no page", was)
		}
	}
}
