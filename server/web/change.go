package web

import "relevel/jobs"

// ChangesPage lists the changes to what was agreed.
type ChangesPage struct {
	Frame
	Lines  []ChangeLine
	Agreed []jobs.Sum
	Record string
}

// ChangeLine is one change as the list and its own sheet show it.
type ChangeLine struct {
	jobs.Change
	Number int // in the order in which they were put
	When   string
	Day    string
	By     string
	Href   string
	Line   string // of the book
	Photos []Photo
	Before *ChangeLink // the change it takes further
	After  *ChangeLink
}

// ChangeLink leads to another change.
type ChangeLink struct {
	Number int
	Href   string
}

// ChangePage is one change as a sheet to sign, and its answer.
type ChangePage struct {
	Frame
	Change ChangeLine
	Place  string
	Reply  *Reply
	Ways   []Action
}

func (ChangesPage) page() string { return "changes" }
func (ChangePage) page() string  { return "change" }

// Money writes the amount, "" where there is none.
func (l ChangeLine) Money() string { return jobs.AmountWords(l.Amount, l.Currency) }

// LongDay is how a day stands on paper.
const LongDay = "2 January 2006"
