package jobs

import "relevel/events"

// FoldVersion changes whenever the same events would fold to another state, so
// that a cached state or a summary of an older program is known for what it is.
const FoldVersion = 1

// Line is one line of the book: what happened, in words and figures.
type Line struct {
	Seq    int64       `json:"seq"`
	ID     events.ID   `json:"id"`
	Kind   events.Kind `json:"kind"`
	What   string      `json:"what"`             // the kind in the trade's words
	Points []string    `json:"points,omitempty"` // places it names
	Text   string      `json:"text,omitempty"`
	Staff  *float64    `json:"staff_mm,omitempty"`  // readings: as read, in mm
	Height *float64    `json:"height_mm,omitempty"` // readings: reduced
	Move   *float64    `json:"move_mm,omitempty"`   // jacking: the greatest move
	Voided string      `json:"voided,omitempty"`    // why it does not count
	Aside  string      `json:"aside,omitempty"`     // why it is set aside
}
