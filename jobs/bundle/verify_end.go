package bundle

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/proof"
)

// end looks at what can be seen only when all was read.
func (v *verifier) end() {
	if !v.cut {
		v.missing()
		v.compareSums()
	}
	if v.sure && len(v.log) > 0 || v.sure && v.seen[logName] {
		v.together()
		v.complete()
		v.signed()
	}
	v.countFiles()
	if v.follow != "" {
		v.holds("%s", v.follow)
	}
	v.report.Unbound = append(v.report.Unbound, "The names of the firm, the job and the people stand beside the records, and so does the description of what is missing.")
	v.report.finish()
}

// missing names the entries that every bundle has.
func (v *verifier) missing() {
	for _, name := range needed {
		if !v.seen[name] {
			v.fault(name, rank{single[name], 0}, 0, "it is missing")
		}
	}
}

// compareSums holds SHA256SUMS against what was read.
func (v *verifier) compareSums() {
	if !v.seen[sumsName] {
		return
	}
	rest := v.listed
	for i, name := range v.sums.names {
		line, want := cutLine(&rest), v.sums.line(i)
		if string(line) == want {
			continue
		}
		_, named, _ := strings.Cut(strings.TrimSuffix(string(line), "\n"), "  ")
		if named == name {
			at, _ := v.rankOf(name)
			v.fault(name, at, seqOf(name), "its SHA-256 is not the one that %s lists", sumsName)
			continue
		}
		v.fault(sumsName, rank{atSums, 0}, 0, "line %d is of %s, and the entry there is %s", i+1, plainName(named), name)
		return
	}
	if len(rest) > 0 {
		_, name, _ := strings.Cut(strings.TrimSpace(string(cutLine(&rest))), "  ")
		v.fault(sumsName, rank{atSums, 0}, seqOf(name), "it lists %s, which is not here", plainName(name))
	}
}

func cutLine(rest *[]byte) []byte {
	n := bytes.IndexByte(*rest, '\n') + 1
	if n == 0 {
		n = len(*rest)
	}
	line := (*rest)[:n]
	*rest = (*rest)[n:]
	return line
}

// complete looks whether every record is here, or was erased and a record says so.
func (v *verifier) complete() {
	whole, gone := 0, 0
	for i, l := range v.log {
		at := rank{atEvents, l.Seq}
		switch e := v.records[i]; {
		case !l.Erased && e.Raw == nil && !v.cut:
			v.fault(eventName(l.Seq), at, l.Seq, "record %d (%s) is missing", l.Seq, l.Kind)
		case l.Erased && !toldErased(v.told, l.Seq):
			v.fault(eventName(l.Seq), at, l.Seq, "record %d has no content, and no record says that it was erased", l.Seq)
		case l.Erased:
			gone++
		case e.Raw != nil && !v.faulty[eventName(l.Seq)]:
			whole++
		}
	}
	if whole > 0 {
		v.holds("%s as they were sealed: each gives the leaf that the tree has for it.", counted(whole, "record is", "records are"))
	}
	if gone > 0 {
		v.holds("%s erased at somebody's request, as %s; the rest is proved without it.", counted(gone, "record was", "records were"), v.saidErased())
		v.report.Unbound = append(v.report.Unbound, "The kind and the time of a record that was erased are as the server tells them.")
	}
}

func (v *verifier) saidErased() string {
	var numbers []string
	for _, s := range v.told {
		if len(s.Records) > 0 {
			numbers = append(numbers, fmt.Sprint(s.seq))
		}
	}
	if len(numbers) == 1 {
		return "record " + numbers[0] + " says"
	}
	return "records " + strings.Join(numbers, ", ") + " say"
}

// signed holds the tree against what was signed.
func (v *verifier) signed() {
	leaves := make([]events.Hash, len(v.log))
	for i, l := range v.log {
		leaves[i] = events.Hash(l.Leaf)
	}
	tree := proof.NewTree(leaves)
	root, err := tree.Root(tree.Size())
	if err != nil || events.Digest(root) != v.about.Root {
		v.fault(aboutName, rank{atAbout, 0}, 0, "the root that it names is not that of the records: one was changed, removed, added or moved")
	}
	keys := v.known()
	v.checkpoint(tree, keys)
	for _, held := range v.check.Against {
		v.against(tree, held, keys)
	}
}

// checkpoint looks at the bundle's own.
func (v *verifier) checkpoint(tree *proof.Tree, keys []note.Verifier) {
	at := rank{atCheckpoint, 0}
	if len(v.parts.Checkpoint) == 0 {
		v.open("No checkpoint is here: nothing that was signed covers the records.")
		return
	}
	signed, err := proof.Open(v.parts.Checkpoint, keys...)
	if err != nil {
		v.fault(checkpointName, at, 0, "%v", err)
		return
	}
	if !v.ours(signed.Checkpoint) {
		v.fault(checkpointName, at, 0, "it is of another log, %s", signed.Origin)
		return
	}
	if err := tree.Agrees(signed.Checkpoint); err != nil {
		v.fault(checkpointName, at, 0, "%s", forkWords(err))
		return
	}
	v.holds("The records are those that were signed: %d of them lead to the root of the checkpoint.", signed.Size)
	if late := tree.Size() - signed.Size; late > 0 {
		v.open("%s after the checkpoint was signed, and nothing signed covers them yet.", counted(int(late), "record came", "records came"))
	}
	v.signers(signed)
	v.firmLog(tree, keys)
}

// signers says who signed, and whether whoever checks knows them.
func (v *verifier) signers(signed proof.Signed) {
	known := false
	for _, by := range signed.By {
		if v.trusts(by) {
			known = true
			v.holds("The checkpoint is signed by %s, a key that you know.", by)
			continue
		}
		v.holds("The checkpoint is signed by %s. That is a key in the bundle, not known to you: compare it with one that you had from the firm another way.", by)
	}
	if len(v.check.Trusted) > 0 && !known {
		v.fault(checkpointName, rank{atCheckpoint, 0}, 0, "no key that you know signed it")
	}
}

func (v *verifier) trusts(by proof.Signature) bool {
	for _, k := range v.check.Trusted {
		if proof.SignedBy(k) == by {
			return true
		}
	}
	return false
}

// ours tells whether a checkpoint is of this job, whatever its server is called.
func (v *verifier) ours(c proof.Checkpoint) bool {
	return strings.HasSuffix(c.Origin, proof.JobOrigin("", v.about.Firm.ID, v.about.Job.ID))
}

// ofFirm tells whether a checkpoint is of the firm's own log.
func (v *verifier) ofFirm(c proof.Checkpoint) bool {
	return strings.HasSuffix(c.Origin, proof.FirmOrigin("", v.about.Firm.ID))
}

// against holds the records against a checkpoint that somebody kept.
func (v *verifier) against(tree *proof.Tree, held []byte, keys []note.Verifier) {
	const what = "the checkpoint you kept"
	at := rank{nowhere, 1}
	c, err := proof.Peek(held)
	if err != nil {
		v.fault(what, at, 0, "%v", err)
		return
	}
	if !v.ours(c.Checkpoint) {
		v.fault(what, at, 0, "it is of another log, %s", c.Origin)
		return
	}
	if _, err := proof.Open(held, keys...); errors.Is(err, proof.ErrUnsigned) {
		v.open("Who signed the checkpoint you kept cannot be told: %v.", err)
	}
	if c.Size > tree.Size() {
		v.open("The checkpoint you kept is of %d records, and this bundle has %d: it is older than the checkpoint, or was cut short.", c.Size, tree.Size())
		return
	}
	if err := tree.Agrees(c.Checkpoint); err != nil {
		v.fault(what, at, 0, "%s", forkWords(err))
		return
	}
	v.holds("The bundle continues the history of the checkpoint that you kept, of %d records.", c.Size)
}

// forkWords says in words that two histories do not belong together.
func forkWords(err error) string {
	var fork *proof.Fork
	if !errors.As(err, &fork) {
		return fmt.Sprint(err)
	}
	if fork.Shown.Size < fork.Held.Size {
		return fmt.Sprintf("it was signed over %d records, and here are %d: the last ones were removed", fork.Held.Size, fork.Shown.Size)
	}
	return fmt.Sprintf("a fork: the first %d records here are not the %d that were signed. There are two histories of this job", fork.Held.Size, fork.Held.Size)
}

// countFiles says what is here of photos and sounds.
func (v *verifier) countFiles() {
	n := map[Keeping]int{}
	for i, f := range v.list {
		if f.Name != "" && (v.faulty[f.Name] || !v.seen[f.Name]) {
			continue
		}
		n[f.Kept]++
		if f.Kept == IsMissing && i < len(v.shown) {
			v.open("%s %s, of record %d, is not in this bundle: it had not arrived, or was damaged.", f.Type, f.SHA256, v.shown[i].Records[0])
		}
	}
	if c := n[IsOriginal]; c > 0 {
		v.holds("%s what the records were sealed with, as taken.", counted(c, "photo or sound is", "photos and sounds are"))
	}
	if c := n[IsErased]; c > 0 {
		v.holds("%s erased at somebody's request.", counted(c, "photo or sound was", "photos and sounds were"))
	}
	if c := n[IsMade]; c > 0 {
		v.report.Unbound = append(v.report.Unbound, counted(c, "photo is a smaller one", "photos are smaller ones")+", made from the originals. The records vouch for the originals alone: whoever wants to be sure asks the firm for one and compares its SHA-256 with its name here.")
	}
	if c := n[IsLeftOut]; c > 0 {
		v.report.Unbound = append(v.report.Unbound, counted(c, "spoken note is", "spoken notes are")+" left out of a bundle with smaller photos.")
	}
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
