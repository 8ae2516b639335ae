package events

import "context"

// Eraser removes content at a person's request. What stays proves the rest: the
// leaves of records, and the record that says what was erased, which comes first.
//
// Every call may be repeated, and is durable on return. What is gone already is
// passed over. Nothing of another firm is touched.
type Eraser interface {
	// EraseRecords removes the bytes and salts of records of a job, and their words
	// from what is searched. It returns how many still had bytes.
	EraseRecords(ctx context.Context, firm, job ID, numbers []int64) (int, error)

	// EraseApart removes things from the quarantine, with the decisions about them.
	EraseApart(ctx context.Context, firm ID, keys []Digest) (int, error)

	// EraseKept takes files out of the ledger. Their bytes are the Objects'.
	EraseKept(ctx context.Context, firm ID, files []Digest) (int, error)
}
