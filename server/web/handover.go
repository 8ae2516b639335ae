package web

import "relevel/jobs"

// HandoverPage is the floor given back: what is missing before it, what was given
// over, and the visits that come after.
type HandoverPage struct {
	Frame
	Around
	Picture jobs.Picture // of which the part after the hand-over is shown
	Begins  jobs.Giving
	Record  string
	Done    []Handed // the last first
	Visits  []VisitLine
	Printed string
}

// Handed is one hand-over.
type Handed struct {
	Facts  []Fact
	Places []Fact // that the owner picked, with what was read there
	When   string
	Book   string
	Photos []Photo
}

// VisitLine is one day on which somebody comes back.
type VisitLine struct {
	On, Words string
	Due       bool
}

func (HandoverPage) page() string { return "handover" }
