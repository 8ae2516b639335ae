package web

import (
	"strings"

	"relevel/events"
	"relevel/jobs"
)

// NewJobPage asks for what a job is called and where it is.
type NewJobPage struct {
	Frame
	ID    string // the id the job will have
	Name  string
	Place string
	Zone  string
	Crew  events.ID
	Crews []jobs.Crew
	Wrong Wrong
}

// PeoplePage lists the firm's people and takes another.
type PeoplePage struct {
	Frame
	ID     string // the id the next one will have
	People []PersonLine
	Name   string
	Role   jobs.Role
	Wrong  Wrong
}

// Roles are what people work as.
func (PeoplePage) Roles() []jobs.Role { return []jobs.Role{jobs.SiteLead, jobs.CrewHand, jobs.Office} }

func (NewJobPage) page() string { return "newjob" }
func (PeoplePage) page() string { return "people" }

// role writes a role as people say it.
func role(r jobs.Role) string { return strings.ReplaceAll(string(r), "-", " ") }

// Soon is one of the few things to do next: at a support, or for the whole job
// where ID is "".
type Soon struct {
	ID, At string // the support and its page
	Words  string
	Href   string // of the form that does it, "" where nothing is to be done
	Urgent bool   // in doubt, or dangerous as it is
}

// RecordsPage lists what was recorded, by kind.
type RecordsPage struct {
	Frame
	Groups  []RecordGroup
	Photos  []PhotoGroup
	Earlier string // address of the photos before these
}

// PhotoGroup is the photos of one thing.
type PhotoGroup struct {
	Of     string // "" where nobody said
	Photos []Photo
}

// RecordGroup is all of one kind.
type RecordGroup struct {
	Title, Verb, Href string
	Lines             []RecordLine
}

// RecordLine is one record.
type RecordLine struct {
	jobs.Item
	When, By string
}

func (RecordsPage) page() string { return "records" }
