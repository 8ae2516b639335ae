// Package answers tells what owners ask about the work under their floor, from the
// record of the job alone.
//
// An Account is written for somebody who has never stood under a floor: it uses no
// word of the trade that its Words do not explain, says "not recorded" where nothing
// was recorded, and keeps the figures apart from the sentences, as Facts with the
// lines of the book that they rest on. Every figure in it comes from the fold of the
// events it is given: it is a pure function of them, so that the page, the printed
// pack and a check years later say the same. It says nothing about anybody of the
// firm but their names, and names no record but by its number in the book.
//
// What is voided or set aside does not count and is in none of its sentences; what was
// erased is gone, and the account says that records were.
package answers

import (
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// Account is a job as its owner is told of it.
type Account struct {
	Job, Firm, Place string
	Units            levelling.Unit // that all its lengths are written in
	AsOf             time.Time      // site time of the last record it rests on, in the job's zone; zero for a job without any
	Seq              int64          // and its number

	Answers  []Answer     // in the order in which they are asked; every Key stands once
	Supports []SupportRow // all of the plan, in its order
	Pairs    []Pair       // before and after, of each thing of which there are both
	Floor    Floor        // as it was read before the first lift and now
	Then     []Track      // places that were read again after the work, those of the old supports first
	Changes  []Change     // to what was agreed, as they were put; the owner may answer one whose State is asked
	Shown    []Witnessed  // the places that the owner picked and saw read
	Words    []Word       // of the trade that this account uses, and what they mean
	Cautions []string     // sentences with their source, the last one NotCertificate
	Proof    Proof
}

// Answer is one question and what the record says to it.
type Answer struct {
	Key   Key      // for anchors and tests
	Ask   string   // "What was wrong?"
	Say   []string // sentences of one paragraph each, at least one
	Empty bool     // nothing was recorded; Say says so, and what that means
	Facts []Fact   // the figures behind it, one click away
}

// Key names a question.
type Key string

// The questions, in the order in which they are asked.
const (
	Wrong     Key = "wrong"
	Decided   Key = "decided"
	NotLevel  Key = "not-level"
	Done      Key = "done"
	Pictures  Key = "before-and-after"
	Moving    Key = "moving"
	Cracks    Key = "cracks"
	Cause     Key = "cause"
	Inspected Key = "inspected"
	Care      Key = "care"
	Ring      Key = "ring"
	Changed   Key = "changes"
	Check     Key = "check"
)

// Fact is one figure or short record.
type Fact struct {
	Name  string
	Value string
	Lines []int64 // of the book that it rests on
}

// SupportRow is one support from the survey to the end. Heights are on the face that
// was agreed upon, those of one covering; nil is not known.
type SupportRow struct {
	ID, Bearer     string
	Survey         *jobs.Figure
	AsFound        *jobs.Figure // before the first lift
	Target         *float64
	After          *jobs.Figure
	AfterRead      bool   // After was read, and nothing beside it moved since
	Packer         string // the final packer, "" while there is none
	Work           string // what was renewed: "new post and footing"
	Fixed          bool
	LeftOut        bool
	LeftOutBecause string // as it was agreed, "" where no reason was given
	State          string // in an owner's words
	Who            string // who signed for it, "" where nobody did or the signature lapsed
	When           time.Time
	Seq            int64 // the last line of the book about it
}

// Lift is how far a support came up, false where one of the heights is not known.
func (r SupportRow) Lift() (mm float64, known bool) {
	if r.AsFound == nil || r.After == nil {
		return 0, false
	}
	return r.After.MM - r.AsFound.MM, true
}

// Pair is the best photo of a thing before the work and the best after it.
type Pair struct {
	Subject       string // as the record has it
	Words         string // "stump B1-3", "the kitchen"
	Before, After Print
}

// Print is one photo, without an address: whoever shows it knows where it lies.
type Print struct {
	SHA256 events.Digest
	Media  string
	Taken  time.Time // in the job's zone
	Alt    string    // "stump B1-3 before the work, 2 March 2026"
	Seq    int64     // the line of the book that it came with
}

// Floor is the floor then and now, for maps that may be compared.
type Floor struct {
	jobs.Compared
	Comparable bool   // there are enough places for two maps
	Say        string // what they are made of, or why there are none
}

// Track is what was read at one place since the work was done there.
type Track struct {
	jobs.Track
	Place string // in an owner's words
	Say   string // moving, not seen to move, or too early to say, and why
}

// Change is a change to what was agreed.
type Change struct {
	ID     events.ID // by which it is answered
	Put    time.Time
	What   string
	Amount string // "" where none was named
	State  jobs.ChangeState
	Answer string // "accepted by R. Finch, 3 March 2026", "" where there is none
	Files  []events.File
	Seq    int64
}

// Witnessed is a place that the owner picked and saw read.
type Witnessed struct {
	Place string
	Read  string // the height, or that its reading is not in the book
	When  time.Time
	Lines []int64 // of its hand-over and its reading
}

// Word is a word of the trade and what it means.
type Word struct{ Word, Means string }

// Proof says what the proof beside an account shows and what it does not.
type Proof struct{ Shows, ShowsNot string }

// About is what an account needs besides the record: who is who, and whose words,
// units and clock it is written in.
type About struct {
	Job   jobs.Job
	Firm  jobs.Firm
	Names map[events.ID]string           // of people; who is missing was erased, and is "somebody"
	Zone  *time.Location                 // the job's
	Now   time.Time                      // for what waits for a day
	Has   func(photo events.Digest) bool // photos that can be shown; nil for all
}
