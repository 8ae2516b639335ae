package events

import "relevel/levelling"

// Finding is something seen that explains the drop or needs mending. With Of it
// says more of an earlier one: who sees to it now, by when, what was answered,
// or that it is open again. What it gives takes the place of what was said; the
// earlier record stays as it is.
type Finding struct {
	What     string   `json:"what,omitempty"` // loose, rotten, leaning, gone, split, wet, … or other words
	HowBad   string   `json:"how_bad,omitempty"`
	Where    string   `json:"where,omitempty"`
	Cause    string   `json:"cause,omitempty"`
	Supports []string `json:"supports,omitempty"`
	Owner    ID       `json:"owner,omitzero"`  // who of the firm sees to it
	Trade    string   `json:"trade,omitempty"` // a trade outside that mends it
	By       string   `json:"by,omitempty"`    // the date it is to be mended by
	Of       ID       `json:"of,omitzero"`     // the earlier finding
	Answer   string   `json:"answer,omitempty"`
	Again    bool     `json:"again,omitempty"` // it was closed, and is open again
}

// Check implements Body.
func (f *Finding) Check() error {
	if f.By != "" {
		if err := date("by", f.By); err != nil {
			return err
		}
	}
	if err := first(optionalText("how_bad", f.HowBad), optionalText("cause", f.Cause), optionalText("where", f.Where),
		optionalText("trade", f.Trade), optionalText("answer", f.Answer), places("supports", f.Supports)); err != nil {
		return err
	}
	if f.Of.IsZero() {
		return text("what", f.What)
	}
	if f.Owner.IsZero() && f.Trade == "" && f.By == "" && f.Answer == "" && !f.Again {
		return levelling.Bad("answer", "missing: who sees to it, by when, an answer, or that it is open again")
	}
	return optionalText("what", f.What)
}

// Points implements Body.
func (f *Finding) Points() []string { return f.Supports }

// FindingClosed says what closed a finding.
type FindingClosed struct {
	Finding ID     `json:"finding"`
	How     string `json:"how"`
}

// Check implements Body.
func (f *FindingClosed) Check() error { return first(someID("finding", f.Finding), text("how", f.How)) }

// Points implements Body.
func (f *FindingClosed) Points() []string { return nil }
