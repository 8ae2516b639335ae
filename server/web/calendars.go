package web

import "relevel/jobs"

// CalendarsPage lists the links by which calendars follow the crews.
type CalendarsPage struct {
	Frame
	Links    []CalendarLine
	Crews    []jobs.Crew
	ID       string // of the link that the form makes
	Name     string // as it was typed
	Crew     string
	Wrong    Wrong
	Made     string // the address that was made just now, shown on this page alone
	MadeCrew string
}

// CalendarLine is one link.
type CalendarLine struct {
	ID, Name, Crew, Since, Revoked string
}

func (CalendarsPage) page() string { return "calendars" }
