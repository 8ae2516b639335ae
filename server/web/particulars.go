package web

import (
	"fmt"

	"relevel/jobs"
)

// ParticularsPage is what the office knows of a job beside its events: its name,
// place, crew and days, and whether it is closed.
type ParticularsPage struct {
	Frame
	Typed    jobs.Job // as it is, or as it was typed
	Crews    []jobs.Crew
	People   []jobs.Person
	By, Why  string // who closes or opens it, and why, as it was typed
	FormID   string
	Wrong    Wrong
	Overtook string // what was done meanwhile, "" where nothing was
	Closings []ClosingLine
}

// ClosingLine is one time that a job was closed or opened again.
type ClosingLine struct {
	jobs.Closing
	When, Who string
}

func (ParticularsPage) page() string { return "particulars" }

// AfterClosing says how much was recorded since the job was closed, "" where nothing
// was.
func (f Frame) AfterClosing() string {
	if f.Job == nil || !f.Job.IsClosed() || f.Seq <= f.Job.ClosedSeq {
		return ""
	}
	if f.Seq == f.Job.ClosedSeq+1 {
		return "1 line was"
	}
	return fmt.Sprintf("%d lines were", f.Seq-f.Job.ClosedSeq)
}
