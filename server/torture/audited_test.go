package torture_test

import (
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/proof"
	"relevel/server/signing"
)

// The audit finds what it is there for: each fault is made by hand once.
func TestAudit(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	c := w.newFirm(1)
	p := &phone{crew: c, job: c.jobs[0], id: c.newID(), by: c.newID()}
	c.serveOnce(p, &photographer{crew: c}, nil)
	c.headsSigned()
	if faults := c.audit(); len(faults) > 0 {
		t.Fatalf("before anything was done to it: %q", faults)
	}
	nobody, mine := c.newID(), p.mine[0]
	was := c.acked[mine]
	for name, test := range map[string]struct {
		spoil, mend func()
		want        string
	}{
		"never stored":   {func() { c.acked[nobody] = acked{p.job, 1, "{}"} }, func() { delete(c.acked, nobody) }, "was acknowledged as number 1 and is"},
		"other number":   {func() { c.acked[mine] = acked{was.job, was.seq + 1, was.raw} }, func() { c.acked[mine] = was }, "was acknowledged as number"},
		"other bytes":    {func() { c.acked[mine] = acked{was.job, was.seq, "{}"} }, func() { c.acked[mine] = was }, "was acknowledged as number"},
		"sent by nobody": {func() { delete(c.tried, mine) }, func() { c.tried[mine] = was.raw }, "is not what anybody sent"},
		"not kept apart": {func() { c.apart = append(c.apart, "{}") }, func() { c.apart = c.apart[:len(c.apart)-1] }, "not in the quarantine"},
		"photo gone":     {func() { c.dropped = append(c.dropped, events.Digest{1}) }, func() { c.dropped = c.dropped[:len(c.dropped)-1] }, "photo 01"},
		"fork":           {func() { c.notes[c.forged(p.job)] = p.job }, func() { clear(c.notes) }, "a checkpoint of 1"},
		"head":           {func() { w.admin(`UPDATE head SET seq = seq - 1`) }, func() { w.admin(`UPDATE head SET seq = seq + 1`) }, "the head says"},
		"leaf":           {func() { c.spoilLeaf() }, func() { c.spoilLeaf() }, "has another leaf than its bytes give"},
	} {
		test.spoil()
		faults := strings.Join(c.audit(), "\n")
		test.mend()
		if !strings.Contains(faults, test.want) {
			t.Errorf("%s: found %q, want %q", name, faults, test.want)
		}
	}
	w.admin(`ALTER TABLE event DISABLE TRIGGER ALL`, `DELETE FROM event WHERE seq = 1`)
	if faults := strings.Join(c.audit(), "\n"); !strings.Contains(faults, "number 2 is in place 1") {
		t.Errorf("a gap: found %q", faults)
	}
}

// forged is a checkpoint under the server's own key, of a tree that never was.
func (c *crew) forged(job events.ID) string {
	c.t.Helper()
	ring, err := signing.Find(filepath.Join(c.home, "keys"))
	must(c.t, err)
	server, signers, err := ring.Signers()
	must(c.t, err)
	text, err := proof.Sign(proof.Checkpoint{Origin: proof.JobOrigin(server, c.firm, job), Size: 1}, []note.Signer(signers)...)
	must(c.t, err)
	return string(text)
}

// spoilLeaf changes a bit of a leaf, or changes it back.
func (c *crew) spoilLeaf() {
	c.t.Helper()
	c.admin(`ALTER TABLE event DISABLE TRIGGER ALL`,
		`UPDATE event SET leaf = set_byte(leaf, 0, get_byte(leaf, 0) # 1) WHERE seq = 1`,
		`ALTER TABLE event ENABLE TRIGGER ALL`)
}
