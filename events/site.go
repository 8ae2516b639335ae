package events

import "relevel/levelling"

// Incident is an injury, a near miss, a broken pipe or cable, something dropped.
type Incident struct {
	What  string `json:"what"`
	Where string `json:"where,omitempty"`
	Who   string `json:"who,omitempty"`
	Done  string `json:"done,omitempty"`
}

// Check implements Body.
func (i *Incident) Check() error {
	return first(text("what", i.What), optionalText("where", i.Where), optionalText("who", i.Who), optionalText("done", i.Done))
}

// Points implements Body.
func (i *Incident) Points() []string { return nil }

// DayEnd is the list of what is left over night, and what was done about it.
type DayEnd struct {
	Left []string `json:"left,omitempty"`
	Done string   `json:"done,omitempty"`
	Out  bool     `json:"out"`          // everybody is out from under the floor
	On   bool     `json:"on,omitempty"` // what was turned off is on again
}

// Check implements Body.
func (d *DayEnd) Check() error { return optionalText("done", d.Done) }

// Points implements Body.
func (d *DayEnd) Points() []string { return nil }

// Note is text, or a sound among the event's files.
type Note struct {
	Text     string   `json:"text,omitempty"`
	Supports []string `json:"supports,omitempty"`
	Answers  ID       `json:"answers,omitzero"` // what somebody looked into: the event for which a stop was proposed
}

// Check implements Body.
func (n *Note) Check() error {
	return first(optionalText("text", n.Text), places("supports", n.Supports))
}

// Points implements Body.
func (n *Note) Points() []string { return n.Supports }

// Void takes an event out of the reckoning; both stay in the book. A void
// cannot be voided: record the thing again.
type Void struct {
	Event ID     `json:"event"`
	Why   string `json:"why"`
}

// Check implements Body.
func (v *Void) Check() error {
	if v.Event.IsZero() {
		return levelling.Bad("event", "missing: the id of the event that does not count")
	}
	return text("why", v.Why)
}

// Points implements Body.
func (v *Void) Points() []string { return nil }
