package jobs

import (
	"relevel/events"
)

// Owed is what a job waits for from people: its open findings, the stops that
// stand, the changes nobody answered yet. It is in the job's brief, so that pages
// over many jobs fold none.
type Owed struct {
	Findings []OwedFinding `json:"findings,omitempty"`
	Stops    []OwedStop    `json:"stops,omitempty"`
	Changes  []OwedChange  `json:"changes,omitempty"`

	// Open, and not listed: the page of the job has them all.
	MoreFindings int `json:"more_findings,omitempty"`
	MoreStops    int `json:"more_stops,omitempty"`
	MoreChanges  int `json:"more_changes,omitempty"`
}

// OwedFinding is an open finding, with who sees to it and by when.
type OwedFinding struct {
	Item
	Cause string    `json:"cause,omitempty"`
	Owner events.ID `json:"owner,omitzero"`
	Trade string    `json:"trade,omitempty"`
	Due   string    `json:"due,omitempty"` // the day by which
}

// OwedStop is a stop that stands; its name is who may give the go-ahead.
type OwedStop struct {
	Item
	AskOf events.ID `json:"ask_of,omitzero"`
}

// OwedChange is a change that waits for the owner's answer.
type OwedChange struct {
	Item
}

// mostOwed bounds what the row of one job holds of each sort, and owedText the
// length of its words.
const (
	mostOwed = 60
	owedText = 240
)

// owed lists what waits, the earliest first.
func (s *State) owed() (o Owed) {
	for _, it := range s.lists.findings {
		if room(it, len(o.Findings), &o.MoreFindings) {
			v := s.lists.finding[it.ID].view
			o.Findings = append(o.Findings, OwedFinding{Item: inRow(*it), Cause: v.Cause, Owner: v.Owner, Trade: v.Trade, Due: v.Due})
		}
	}
	for _, it := range s.lists.stops {
		if room(it, len(o.Stops), &o.MoreStops) {
			o.Stops = append(o.Stops, OwedStop{inRow(*it), s.lists.stop[it.ID].view.AskOf})
		}
	}
	for _, it := range s.lists.changes {
		if room(it, len(o.Changes), &o.MoreChanges) {
			o.Changes = append(o.Changes, OwedChange{inRow(*it)})
		}
	}
	return o
}

// room tells whether a record is open and still has a place in the list. One that
// has none is counted.
func room(it *Item, listed int, more *int) bool {
	if it.Open && listed >= mostOwed {
		*more++
	}
	return it.Open && listed < mostOwed
}

// inRow is a record with few enough words for a row.
func inRow(it Item) Item {
	if text := []rune(it.Text); len(text) > owedText {
		it.Text = string(text[:owedText]) + " …"
	}
	it.Supports = append([]string(nil), it.Supports...)
	return it
}
