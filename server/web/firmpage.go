package web

import (
	"relevel/jobs"
)

// FirmPage holds how a firm is called and how its screens speak.
type FirmPage struct {
	Frame
	Typed jobs.Firm
	Wrong Wrong
	Kept  bool // what was sent is in use now
}

func (FirmPage) page() string { return "firm" }

// Regions are whose trade words there are, with some of the words.
func (FirmPage) Regions() []Choice {
	all := []Choice{{string(jobs.Australia), "Australia"}, {string(jobs.NewZealand), "New Zealand"}, {string(jobs.BritainEire), "Britain and Ireland"}, {string(jobs.NorthAmerica), "United States and Canada"}}
	for i, c := range all {
		w := jobs.Region(c.Value).Words()
		all[i].Label += ": " + w.Support + ", " + w.Bearer + ", " + w.Packer + ", " + w.Staff
	}
	return all
}

// Lengths are the units that screens can show lengths in, with an example.
func (p FirmPage) Lengths() []Choice {
	return sayChoices([]Choice{{"mm", "millimetres: 17, 1\u2009284 on the staff"}, {"in", "inches to a sixteenth: 11⁄16″, 50 9⁄16″ on the staff"}, {"ft", "hundredths of a foot: 0.06, 4.21 on the staff"}}, p.Words)
}
