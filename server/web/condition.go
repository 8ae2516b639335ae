package web

import "html/template"

// ConditionPage is what the rooms were like before the first lift, and the cracks
// and gaps that are watched since.
type ConditionPage struct {
	Frame
	Around
	Rooms   []ConditionRoom
	Lacking []string // rooms of the plan that nobody wrote down
	Begun   bool     // something was moved already
	Printed string
}

// ConditionRoom is one room; with no name it is what is near none.
type ConditionRoom struct {
	Name    string
	Written []ConditionNote
	Gaps    []GapRecord
	Record  string // where the form is
}

// ConditionNote is what was written down of a room at one time.
type ConditionNote struct {
	Facts   []Fact
	Present string
	When    string
	Book    string
	Photos  []Photo
}

// GapRecord is one crack or gap over time.
type GapRecord struct {
	Name, What string
	Line       template.HTML // "" of one reading
	Readings   []Fact
	Limit      string
	Past       bool
	Record     string
	Photos     []Photo
}

func (ConditionPage) page() string { return "condition" }
