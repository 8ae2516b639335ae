package bundle

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Verdict is what a bundle comes to.
type Verdict string

// A bundle holds; or what could be checked does, and something could not; or
// something in it is not as it was made.
const (
	Holds   Verdict = "holds"
	Partly  Verdict = "partly"
	Changed Verdict = "changed"
)

// Fault is one thing that does not hold.
type Fault struct {
	Entry string `json:"entry"`            // of the bundle
	Seq   int64  `json:"record,omitempty"` // of the record it is, or shows the file
	Says  string `json:"says"`             // in words, which name the entry

	rank rank
}

// Report is what a check of a bundle found, in words for people.
type Report struct {
	Verdict Verdict  `json:"verdict"`
	Firm    string   `json:"firm"`
	Job     string   `json:"job"`
	Place   string   `json:"place,omitempty"`
	Faults  []Fault  `json:"faults,omitempty"` // in the order of the bundle, the first ones
	More    int      `json:"more,omitempty"`   // faults beyond those
	Open    []string `json:"open,omitempty"`   // what could not be checked
	Held    []string `json:"held,omitempty"`   // what holds
	Unbound []string `json:"unbound"`          // what nothing signed vouches for
}

// maxFaults bounds what a report lists; whatever is wrong with a bundle, the first
// of it says where to look.
const maxFaults = 50

// Caveat closes every report.
const Caveat = "This shows whether anything was changed after it was signed. It does not show that a reading was right, and is not an engineer's certificate; local codes and licensed people decide."

// finish orders the faults and draws the verdict.
func (r *Report) finish() {
	slices.SortStableFunc(r.Faults, func(a, b Fault) int { return a.rank.compare(b.rank) })
	if r.More = max(0, len(r.Faults)-maxFaults); r.More > 0 {
		r.Faults = r.Faults[:maxFaults]
	}
	switch {
	case len(r.Faults) > 0:
		r.Verdict = Changed
	case len(r.Open) > 0:
		r.Verdict = Partly
	default:
		r.Verdict = Holds
	}
}

// Heading is the verdict in a sentence.
func (r Report) Heading() string {
	switch r.Verdict {
	case Changed:
		return "This bundle does not hold. First: " + r.Faults[0].Says
	case Partly:
		return "What could be checked holds. Not all could be checked."
	}
	return "This bundle holds. Nothing in it was changed since it was signed."
}

// Text is the report for a screen without pages.
func (r Report) Text() string {
	var b strings.Builder
	if about := cmp.Or(r.Job, r.Firm); about != "" {
		fmt.Fprintf(&b, "%s\n", strings.Join(slices.DeleteFunc([]string{r.Job, r.Place, r.Firm}, func(s string) bool { return s == "" }), ", "))
	}
	fmt.Fprintf(&b, "%s\n", r.Heading())
	var faults []string
	for _, f := range r.Faults {
		faults = append(faults, f.Says)
	}
	if r.More > 0 {
		faults = append(faults, fmt.Sprintf("and %d more", r.More))
	}
	section(&b, "What does not hold:", faults)
	section(&b, "What could not be checked:", r.Open)
	section(&b, "What holds:", r.Held)
	section(&b, "What nothing signed vouches for:", r.Unbound)
	fmt.Fprintf(&b, "\n%s\n", Caveat)
	return b.String()
}

func section(b *strings.Builder, heading string, list []string) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(b, "\n%s\n", heading)
	for _, s := range list {
		fmt.Fprintf(b, "  %s\n", s)
	}
}
