package web

// PackPage lists the packs of a job, the printed accounts for its owner.
type PackPage struct {
	Frame
	Packs  []PackLine // the newest first
	Papers []string   // the usual one first
	Waits  bool       // one is being made
	Wrong  Wrong
	Back   string // to the owner's page, for its visitor
	Around
}

// PackLine is one pack: to be taken away, being made, or not made and why.
type PackLine struct {
	Paper, Asked string
	UpTo         int64
	Behind       int64 // lines of the book that came since
	Waits        bool
	Page, Pages  int // how far it is
	Href, Size   string
	Failed       string
}

func (PackPage) page() string { return "pack" }
