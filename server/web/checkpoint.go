package web

// CheckpointPage is what was signed of a job's log, and what that shows.
type CheckpointPage struct {
	Frame
	Around
	Off    bool   // this server signs nothing
	Note   string // the last checkpoint, "" while there is none
	Size   int64  // of it
	Behind string // how many lines came since, which the next one will have
	When   string
	By     []string // the keys that signed it
	Others []string // keys nobody here knows
	Keys   []PublicKey
	Faults []string
	Firm   string // when the firm's log was signed last, "" before
}

func (CheckpointPage) page() string { return "checkpoint" }

// PublicKey is one key that signs, or signed.
type PublicKey struct {
	ID          string
	Since, Till string // Till is "" while it is in use
}
