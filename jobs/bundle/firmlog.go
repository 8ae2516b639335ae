package bundle

import (
	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"relevel/events/proof"
)

// LoggedLeaf is the leaf that a checkpoint of a job has in the log of its firm.
func LoggedLeaf(signed []byte) tlog.Hash { return tlog.RecordHash(signed) }

// firmLog looks whether a checkpoint of these records stands in the firm's log, where
// it cannot be taken back for this job alone.
func (v *verifier) firmLog(tree *proof.Tree, keys []note.Verifier) {
	if len(v.parts.Firm) == 0 && len(v.parts.Logged) == 0 {
		return // a job of the last hour is not there yet
	}
	at := rank{atFirm, 0}
	logged, err := proof.Open(v.parts.Logged, keys...)
	if err != nil {
		v.fault(loggedName, rank{atLogged, 0}, 0, "%v", err)
		return
	}
	if err := tree.Agrees(logged.Checkpoint); err != nil || !v.ours(logged.Checkpoint) {
		v.fault(loggedName, rank{atLogged, 0}, 0, "it is not a checkpoint of these records: %s", forkWords(err))
		return
	}
	p, err := proof.ParseInclusion(string(v.parts.Firm))
	if err != nil {
		v.fault(firmName, at, 0, "%v", err)
		return
	}
	signed, err := p.Check(LoggedLeaf(v.parts.Logged), keys...)
	switch {
	case err != nil:
		v.fault(firmName, at, 0, "%v", err)
	case !v.ofFirm(signed.Checkpoint):
		v.fault(firmName, at, 0, "it is of another log, %s", signed.Origin)
	default:
		v.holds("A checkpoint of %d records stands in the firm's log of all its checkpoints, as number %d of %d.", logged.Size, p.Index+1, signed.Size)
	}
}
