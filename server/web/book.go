package web

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
)

// BookFilter says which lines of the book are shown. The zero value shows all.
type BookFilter struct {
	Place  string // a support, spot or datum
	Kind   string
	By     string // a person's id
	Day    string // 2026-03-02
	Setup  string // its id: itself and what was read on it
	Stage  string // of a photo; "any" for any photo
	Text   string
	Counts bool // without struck lines
}

// ReadBookFilter reads the filter of an address.
func ReadBookFilter(q url.Values) BookFilter {
	return BookFilter{
		Place: q.Get("support"), Kind: q.Get("kind"), By: q.Get("by"), Day: q.Get("day"), Setup: q.Get("setup"),
		Stage: q.Get("stage"), Text: strings.TrimSpace(q.Get("text")), Counts: q.Get("struck") == "no",
	}
}

// Set reports whether it hides anything.
func (f BookFilter) Set() bool { return f != BookFilter{} }

// More reports whether something is set of what a page folds away.
func (f BookFilter) More() bool {
	return f.By != "" || f.Day != "" || f.Setup != "" || f.Stage != "" || f.Counts
}

// Query is the filter as an address has it.
func (f BookFilter) Query() url.Values {
	q := url.Values{}
	for name, v := range map[string]string{"support": f.Place, "kind": f.Kind, "by": f.By, "day": f.Day, "setup": f.Setup, "stage": f.Stage, "text": f.Text} {
		if v != "" {
			q.Set(name, v)
		}
	}
	if f.Counts {
		q.Set("struck", "no")
	}
	return q
}

// Stages are what one can ask of the photos of a line.
func (BookPage) Stages() []Choice {
	return []Choice{{"any", "with photos or sound"}, {"before", "taken before"}, {"during", "taken during"}, {"after", "taken after"}}
}

// FilterWords say what the filter asks for.
func (p BookPage) FilterWords() string {
	f := p.Filter
	var words []string
	add := func(value, before, said string) {
		if value != "" {
			words = append(words, before+said)
		}
	}
	add(f.Place, "at ", f.Place)
	add(f.Kind, "", strings.ToLower(labelOf(p.Kinds, f.Kind)))
	add(f.By, "by ", labelOf(p.People, f.By))
	add(f.Day, "on ", f.Day)
	add(f.Setup, "on the set-up ", labelOf(p.Setups, f.Setup))
	add(f.Stage, "", labelOf(p.Stages(), f.Stage))
	add(f.Text, "with “", f.Text+"”")
	if f.Counts {
		words = append(words, "only what counts")
	}
	return strings.Join(words, ", ")
}

// labelOf is how a choice is called, or its value where it is none of them.
func labelOf(all []Choice, value string) string {
	i := slices.IndexFunc(all, func(c Choice) bool { return c.Value == value })
	if i < 0 {
		return value
	}
	return all[i].Label
}

// Shown is how many lines are on the page, and Through how many were looked
// through for them.
func (p BookPage) Shown() string { return strconv.Itoa(len(p.Lines)) }

// Hidden is how many of the lines looked through the filter hides.
func (p BookPage) Hidden() int64 { return max(0, p.Last-p.First+1-int64(len(p.Lines))) }
