package web

// APIPage describes the API to whoever writes a program for it.
type APIPage struct {
	Frame
	About   []string // paragraphs
	Address string   // of the API on this host
	Nouns   []APINoun
	Kinds   []APIForm // the bodies of events
	Forms   []APIForm
	Refused []APIRefusal // what anything may answer
}

func (APIPage) page() string { return "api" }

// APINoun is what is done with one sort of thing.
type APINoun struct {
	Name       string
	Operations []APIOperation
}

// APIOperation is one of these.
type APIOperation struct {
	ID, Method, Path, Title, Words string
	Asked                          []APIField // in the address and the headers
	Sent                           []APIField
	SentForm                       APIType // where that has a name, or is no JSON
	Answers                        []APIAnswer
	Curl, Example                  string // how to ask, and what was answered
}

// APIAnswer is what comes back.
type APIAnswer struct {
	Status int
	Words  string
	Fields []APIField
	Form   APIType // where it is one that has a name, or none
}

// APIRefusal is a status that is a problem.
type APIRefusal struct {
	Status int
	Words  string
}

// APIForm is a form that has a name.
type APIForm struct {
	ID, Name, Words string
	Fields          []APIField
	Values          []string // of a text out of a list
	Is              APIType  // of anything else
	Example         string
}

// APIField is a line of such a form.
type APIField struct {
	Name, Words string
	Of          APIType
	Needed      bool
}

// APIType is what a value is: words, and the form that they name, if any.
type APIType struct {
	Words string
	ID    string // of the form
}
