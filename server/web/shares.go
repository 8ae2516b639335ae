package web

// SharesPage lists the owner's links of a job, and makes another.
type SharesPage struct {
	Frame
	Around
	Shares []ShareLine
	Ends   []Choice // how far an owner may see
	Mail   bool     // it can be sent

	ID, Name, Until, UpTo, To string // of the link that the form makes, as it was typed
	Wrong                     Wrong
	Made                      *ShareMade
}

// ShareLine is one link.
type ShareLine struct {
	ID, Name string
	Since    string // when it was made, and by whom
	Sees     string // up to where, "" where it goes on
	Until    string // the last day on which it opens
	Over     string // why it opens no longer, "" while it does
	Opened   string // how often and when last
}

// ShareMade is the link that was made just now: it is shown on this page alone.
type ShareMade struct {
	Link, Code string
	Name       string
	Until      string
	To         string // where it was sent
	Unsent     bool   // it could not be
}

func (SharesPage) page() string { return "shares" }
