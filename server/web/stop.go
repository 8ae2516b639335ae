package web

import "relevel/jobs"

// StopsPage shows what stands against going on, and what stood.
type StopsPage struct {
	Frame
	Open   []StopLine
	Ended  []StopLine
	Record string
}

// StopLine is one stop: why, since when, on what, who may end it, and who knows.
type StopLine struct {
	jobs.Stop
	When, By   string
	Line       string // of the book
	At         []Action
	Photos     []Photo
	GoAheads   []GoAheadLine
	Phones     []PhoneKnows
	ElseKnow   int // other phones of the firm that were in touch since
	ElseIgnore int // and that were not
	Href       string
	Reply      *Reply
}

// GoAheadLine is one go-ahead that was given to a stop.
type GoAheadLine struct {
	jobs.GoAhead
	When, By string
	Line     string
	Said     string // what is to be said of it
	Odd      bool   // and that somebody should look at
	Photos   []Photo
}

// PhoneKnows is what a phone that recorded on the job knows of a stop.
type PhoneKnows struct {
	Name  string
	Words string
	Knows bool
}

func (StopsPage) page() string { return "stops" }
