package web

// PhotosPage shows the photos and sounds of a job as prints on a sheet: a line
// for each thing, before, during and after in columns.
type PhotosPage struct {
	Frame
	Around
	Subjects []PhotoLine
	Filter   PhotoFilter
	All      int    // photos and sounds of the job
	Shown    int    // that the filter leaves
	Away     int    // of those shown, that have not arrived
	More     string // address of the further subjects, "" where all are shown
}

// PhotoLine is one thing and its prints.
type PhotoLine struct {
	Name, Sort string
	Lacks      string // "before" or "after", where the other is there
	Columns    []PhotoColumn
}

// PhotoColumn is what was taken at one stage.
type PhotoColumn struct {
	Stage  string
	Photos []Photo
}

// PhotoFilter is what of the photos is asked for, and what can be.
type PhotoFilter struct {
	Of, Stage, Day, By string
	Lacking            bool
	Subjects           []Choice
	Days               []Choice
	People             []Choice
}

// Stages are those that can be asked for.
func (PhotoFilter) Stages() []Choice {
	return []Choice{{"before", "before"}, {"during", "during"}, {"after", "after"}, {"unsaid", "stage not said"}}
}

// Set reports whether anything is asked for.
func (f PhotoFilter) Set() bool {
	return f.Of != "" || f.Stage != "" || f.Day != "" || f.By != "" || f.Lacking
}

// ShotPage is one photo, large, with what it belongs to.
type ShotPage struct {
	Frame
	Photo      Photo
	Original   string
	Heading    string
	Facts      []Fact
	Book       string
	Prev, Next string
	Back       string
	At, Of     int // its place among those that are gone through
}

func (PhotosPage) page() string { return "photos" }
func (ShotPage) page() string   { return "shot" }
