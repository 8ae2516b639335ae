package web

import "relevel/jobs"

// OpenSharePage takes the secret of an owner's link. It is the same for every address.
type OpenSharePage struct {
	Frame
	Code  string // as it was typed
	Wrong Wrong
}

// ShareOverPage says why a link opens no longer, to who has its secret.
type ShareOverPage struct {
	Frame
	Of      string // the firm
	Revoked bool   // or its time is over
}

// OwnerChange is a change to what was agreed, as the owner sees it.
type OwnerChange struct {
	Number       int
	What, Amount string
	Day          string
	Open         bool
	State        jobs.ChangeState
	Answer, Why  string // by whom, how and when; and what was said with it
	Href         string
	Photos       []Photo
}

// OwnerChangePage is one change, to be accepted or declined.
type OwnerChangePage struct {
	Frame
	Of     string
	Job    jobs.Job
	Change OwnerChange
	Back   string
	Late   bool // an answer came too late

	FormID, Name, Why string // as it was typed
	Wrong             Wrong
}

func (OpenSharePage) page() string   { return "open-share" }
func (ShareOverPage) page() string   { return "share-over" }
func (OwnerChangePage) page() string { return "owner-change" }
