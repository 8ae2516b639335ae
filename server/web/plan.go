package web

// PlanPage is where a plan is drawn. The drawing itself is a script of the office,
// which finds what it starts with in the page.
type PlanPage struct {
	Frame
	Start   any // what the script starts with, as JSON
	Script  string
	Styles  string
	ByHand  string // where a plan is put in without script
	Nothing bool   // nothing was built: there is no script to draw with
}

func (PlanPage) page() string { return "plan" }
