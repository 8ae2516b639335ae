package events

// Stop halts work, at some supports or everywhere, until the go-ahead.
type Stop struct {
	Why      string   `json:"why"`
	Supports []string `json:"supports,omitempty"` // none: the whole job
	Ask      string   `json:"ask"`                // who may give the go-ahead
	AskOf    ID       `json:"ask_of,omitzero"`    // that one, where it is somebody of the firm
}

// Check implements Body.
func (s *Stop) Check() error {
	return first(text("why", s.Why), text("ask", s.Ask), places("supports", s.Supports))
}

// Points implements Body.
func (s *Stop) Points() []string { return s.Supports }

// GoAhead ends a stop, when who was named gives it, or anybody else with a
// reason. Without either it is kept, and the stop stays.
type GoAhead struct {
	Stop  ID     `json:"stop"`
	Who   string `json:"who"`
	WhoOf ID     `json:"who_of,omitzero"` // that one, where it is somebody of the firm
	Why   string `json:"why,omitempty"`
}

// Check implements Body.
func (g *GoAhead) Check() error {
	return first(someID("stop", g.Stop), text("who", g.Who), optionalText("why", g.Why))
}

// Points implements Body.
func (g *GoAhead) Points() []string { return nil }
