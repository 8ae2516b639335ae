package web

import (
	"fmt"

	"relevel/jobs"
)

// QuarantinePage lists what has no place in a book yet: what was kept apart, and
// what is in a book and does not count.
type QuarantinePage struct {
	Frame
	Waiting []ApartLine
	Settled []ApartLine
	More    bool // there is more that waits than the page shows
	Aside   []AsideJob
}

// ApartLine is one thing that was kept apart, as far as it can be read.
type ApartLine struct {
	Key    string
	When   string // it arrived
	From   string // the phone, and who recorded it
	What   string
	Of     string // the job by name, "" where the firm has no such job
	Reason string
	Last   Decided // what was decided last
}

// Decided is one decision in words.
type Decided struct {
	What, Why, By, When string
	Href                string // to the line of the book that it became
}

// AsideJob is one job with what is in its book and does not count yet.
type AsideJob struct {
	Name, Base string
	Lines      []jobs.SetAside
}

// ApartPage is one thing that was kept apart, and what may become of it.
type ApartPage struct {
	Frame
	ApartLine
	Facts   []Fact
	Says    string // its content in words, "" where it cannot be told
	Body    string // its content as it was sent, where words fail
	Photos  []Photo
	Size    int
	History []Decided
	Open    bool

	N        int    // the number that the next decision will have
	Kind     string // of the form that it can be corrected with
	CannotBe string // why it cannot be taken in as it is, "" where it can be
	Jobs     []Choice
	Chosen   string // the job
	People   []jobs.Person
	By       string
	Why      string
	Wrong    Wrong
}

func (QuarantinePage) page() string { return "quarantine" }
func (ApartPage) page() string      { return "apart" }

// SizeWords say how much was sent.
func (p ApartPage) SizeWords() string {
	if p.Size < 2000 {
		return fmt.Sprintf("%d bytes", p.Size)
	}
	return fmt.Sprintf("%d kB", (p.Size+500)/1000)
}
