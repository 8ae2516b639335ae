package server_test

import (
	"regexp"
	"strings"
	"testing"

	"relevel/jobs"
	"relevel/levelling"
)

// metric is a length in millimetres; an area in mm² and a slope in mm per m are none.
var metric = regexp.MustCompile(`[\d½] ?mm\b([^²]|$)`)

// staysMetric is what says mm in a firm that reads another unit, and why.
var staysMetric = []string{
	" mm per m",        // a slope, by which lasers are rated everywhere
	"such as 0.05 for", // its example
	"0.05 is 1 mm",     // the same
	"clearance 180 mm", // typed into a field that says mm
	"such as 12 mm or", // the example of what a field takes
	"page /profiles",   // published limits as they are published, and fields that say mm
	"page /kit",        // published rules, with their own mm in brackets
}

// In a firm that reads inches or feet no page writes a length in millimetres.
func TestLengthsOfEveryPage(t *testing.T) {
	for _, unit := range []levelling.Unit{levelling.Inch, levelling.Foot} {
		t.Run(string(unit), func(t *testing.T) {
			clock := newHandClock()
			s := newSite(t, withClock(clock))
			h := newHouse(t, s, clock, jobs.Firm{Words: jobs.NorthAmerica, Units: unit}, "Australia/Lord_Howe")
			h.pages(t, func(path, text string) {
				for _, at := range metric.FindAllStringIndex(text, -1) {
					said := "page " + path + ": " + around(text, at)
					if !isAny(said, staysMetric) {
						t.Error(said)
					}
				}
			})
		})
	}
}

// isAny tells whether something that was said has any of some words in it.
func isAny(said string, of []string) bool {
	for _, words := range of {
		if strings.Contains(said, words) {
			return true
		}
	}
	return false
}
