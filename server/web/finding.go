package web

import (
	"fmt"
	"html/template"
	"net/url"
	"strings"
	"time"

	"relevel/jobs"
)

// FindingsPage lists the findings of a job, or those that are open on all jobs
// of the firm.
type FindingsPage struct {
	Frame
	Lines   []FindingLine
	Filter  FindingFilter
	Trades  []string
	Owners  []Choice
	Hidden  int // by the filter
	All     int
	Waiting int    // jobs whose figures are still to come
	More    int    // open ones that no row lists
	Record  string // address of the form, "" over many jobs
	Photos  bool   // some line has a photo
}

// FindingFilter says which findings are shown.
type FindingFilter struct{ State, Trade, Owner string }

// FindingLine is one finding in the ruled columns.
type FindingLine struct {
	jobs.Finding
	Href    string // its own page
	Line    string // of the book
	JobName string // over many jobs
	JobHref string
	Where   template.HTML // small, on the floor
	At      []Action      // the supports that it explains
	Who     string        // sees to it
	DueIn   string        // in words where it is late
	When    string
	Photos  []Photo
}

// FindingPage is one finding with all that was said of it.
type FindingPage struct {
	Frame
	Finding FindingLine
	Said    []SaidLine
	Reply   *Reply
	Ways    []Action // to the forms that can stand on the page
}

// SaidLine is what one record said of an earlier one.
type SaidLine struct {
	jobs.Said
	Text   string // with the names that the record does not hold
	When   string
	By     string
	Line   string
	Photos []Photo
}

func (FindingsPage) page() string { return "findings" }
func (FindingPage) page() string  { return "finding" }

// OfFirm reports whether the page is about all jobs.
func (p FindingsPage) OfFirm() bool { return p.Job == nil }

// States are what can be filtered by.
func (p FindingsPage) States() []Choice {
	if p.OfFirm() {
		return []Choice{{"", "all that are open"}, {"overdue", "overdue"}}
	}
	return []Choice{{"", "open and closed"}, {"open", "open"}, {"overdue", "overdue"}, {"closed", "closed"}}
}

// Filtered reports whether a filter is set.
func (p FindingsPage) Filtered() bool { return p.Filter != FindingFilter{} }

// Shows reports whether a line passes the filter.
func (f FindingFilter) Shows(l FindingLine) bool {
	state := f.State == "" || f.State == "open" && l.Open || f.State == "overdue" && l.Overdue || f.State == "closed" && !l.Open
	return state && (f.Trade == "" || l.Trade == f.Trade) && (f.Owner == "" || !l.Owner.IsZero() && l.Owner.String() == f.Owner)
}

// FilterWords say what the filter asks for.
func (p FindingsPage) FilterWords() string {
	var words []string
	if p.Filter.State != "" {
		words = append(words, p.Filter.State)
	}
	if p.Filter.Trade != "" {
		words = append(words, "trade "+p.Filter.Trade)
	}
	for _, o := range p.Owners {
		if o.Value == p.Filter.Owner {
			words = append(words, "seen to by "+o.Label)
		}
	}
	return strings.Join(words, ", ")
}

// ReadFindingFilter reads the filter of an address.
func ReadFindingFilter(q url.Values) FindingFilter {
	return FindingFilter{State: q.Get("state"), Trade: q.Get("trade"), Owner: q.Get("owner")}
}

// DueWords say how late something is on a day, "" while it is not.
func DueWords(due string, now time.Time) string {
	day, err := time.Parse(time.DateOnly, due)
	today, _ := time.Parse(time.DateOnly, now.Format(time.DateOnly))
	if err != nil || !day.Before(today) {
		return ""
	}
	switch days := int(today.Sub(day).Hours()/24 + 0.5); days {
	case 1:
		return "1 day over"
	default:
		return fmt.Sprintf("%d days over", days)
	}
}
