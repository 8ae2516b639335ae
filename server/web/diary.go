package web

// DiaryPage is one day of the firm, a line a job under its crew.
type DiaryPage struct {
	Frame
	Date, Day      string // 2026-03-02, Monday 2 March 2026
	Earlier, Later string // addresses of the days beside it
	Today          string // address of today, "" where it is that
	Crews          []DiaryCrew
	Behind         int // jobs whose days are being worked out
	Wrong          Wrong
}

// DiaryCrew is what one crew did.
type DiaryCrew struct {
	Name  string
	Lines []DiaryLine
}

// DiaryLine is what was done on one job.
type DiaryLine struct {
	Job, Name, Words string
	By               string
	Book             string // address of the day's lines in the book
}

func (DiaryPage) page() string { return "diary" }
