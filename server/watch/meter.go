package watch

import "time"

// Meter counts and times what a server does. Each method is called where the work is
// done, from many goroutines at once, and returns without waiting for anybody.
type Meter interface {
	// Began says that a request is under way, Answered that it is over.
	Began()
	Answered(Answer)

	// Appended says what became of a batch of events.
	Appended(Append)

	// Quarantined says that something that was sent was kept apart.
	Quarantined()

	// Refolded says that a state was made anew from all of its log.
	Refolded(events int)

	// Panicked says that a bug was caught, and in what: "request", "fold" or "task".
	Panicked(in string)

	// Asked says how an operation on the store of photos ended.
	Asked(op string, failed bool, took time.Duration)

	// Tried says how one attempt at a task ended.
	Tried(kind string, end Outcome, took time.Duration)
}

// Answer is what became of a request.
type Answer struct {
	Route  string // the pattern of its address, "none" where there is none
	Method string // "other" where it is none of the usual ones
	Status int
	Took   time.Duration
	In     int64 // bytes of the body that were read
	Out    int64 // bytes of the answer, before they are packed
	Stream bool  // it went on for as long as somebody listened
}

// Append is what became of a batch of events.
type Append struct {
	Events   int
	Stored   int
	Repeated int           // that the log had already
	Commit   time.Duration // until the log had them
	Took     time.Duration // until the answer, figures included
	Failed   bool          // nothing was acknowledged, and the sender keeps them
}

// Outcome is how an attempt at a task ended.
type Outcome string

// The outcomes of an attempt.
const (
	Done    Outcome = "done"
	More    Outcome = "more"    // a part, and the rest is due at once
	Failed  Outcome = "failed"  // to be tried again
	Buried  Outcome = "buried"  // not to be tried again
	Dropped Outcome = "dropped" // broken off because the server ends, or its lease was lost
)

// Outcomes lists them.
func Outcomes() []Outcome { return []Outcome{Done, More, Failed, Buried, Dropped} }

// Unmetered counts nothing.
type Unmetered struct{}

// Began implements Meter.
func (Unmetered) Began() {}

// Answered implements Meter.
func (Unmetered) Answered(Answer) {}

// Appended implements Meter.
func (Unmetered) Appended(Append) {}

// Quarantined implements Meter.
func (Unmetered) Quarantined() {}

// Refolded implements Meter.
func (Unmetered) Refolded(int) {}

// Panicked implements Meter.
func (Unmetered) Panicked(string) {}

// Asked implements Meter.
func (Unmetered) Asked(string, bool, time.Duration) {}

// Tried implements Meter.
func (Unmetered) Tried(string, Outcome, time.Duration) {}

// Vitals are what a server has in memory at one moment.
type Vitals struct {
	Streams     int           // live streams that are open
	States      int           // folded jobs that are kept
	StatesMax   int           // how many at most
	Refolds     int           // whole logs that are being folded for one answer
	RefoldsMax  int           // how many at most; who comes then waits
	Unsigned    int           // jobs whose head is not signed yet
	UnsignedFor time.Duration // how long the longest of those has waited
	Disagree    int           // jobs that are not signed because their log is not what was signed before
	Draining    bool          // it takes leave, and says so to whoever asks whether it is ready
}
