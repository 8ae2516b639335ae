package web

// Way is one step of a job in its usual order with the pages that are about it.
type Way struct {
	Step  string // as the job's steps are named
	Done  bool
	Pages []WayPage
}

// WayPage leads to a page of the job; Now is the page that shows it.
type WayPage struct {
	Words, Href string
	Now         bool
}

// Around is the way around a job: what stands at the foot of its pages.
type Around struct {
	Ways []Way
}
