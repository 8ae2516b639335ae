package proof_test

import (
	"fmt"
	"strconv"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/proof"
	"relevel/levelling/frozentest"
)

// A key that signs nothing but these texts.
const (
	releasedSecret = "PRIVATE+KEY+levels.example+ac9466e4+AQcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcHBwcH"
	releasedKey    = "levels.example+ac9466e4+AepKbGPinFIKvvVQexMuxfmVR3auvr57kkIe6mkURtIs"
)

// What a release signed and handed out is written and read the same for ever: phones
// and owners hold it.
func TestReleasedTexts(t *testing.T) {
	firm, job := events.ID{0xab, 15: 1}, events.ID{0xcd, 15: 2}
	signer, err := note.NewSigner(releasedSecret)
	if err != nil {
		t.Fatal(err)
	}
	leaves := make([]events.Hash, 5)
	for i := range leaves {
		leaves[i] = events.Leaf{Firm: firm, Job: job, Seq: int64(i + 1), ID: events.ID{15: byte(i)}, Kind: "note", RecordedAt: time.UnixMilli(1_772_000_000_123), Commitment: events.Commit([]byte("salt"), fmt.Append(nil, i))}.Hash()
	}
	tree := proof.NewTree(leaves)
	root, err := tree.Root(5)
	if err != nil {
		t.Fatal(err)
	}
	c := proof.Checkpoint{Origin: proof.JobOrigin("levels.example", firm, job), Size: 5, Root: root}
	signed, err := proof.Sign(c, signer)
	if err != nil {
		t.Fatal(err)
	}
	included, err := tree.Include(3, 5)
	if err != nil {
		t.Fatal(err)
	}
	included.Checkpoint = signed
	if key, err := proof.ParseVerifier(releasedKey); err != nil {
		t.Error(err)
	} else if _, err := proof.Open(signed, key); err != nil {
		t.Errorf("its own key does not open the note: %v", err)
	}
	joined, err := tree.Continue(2, 5)
	if err != nil {
		t.Fatal(err)
	}
	joined.Checkpoint = signed
	now := map[string]string{
		"checkpoint": strconv.Quote(c.Text()), "signed note": strconv.Quote(string(signed)),
		"origin of a firm": proof.FirmOrigin("levels.example", firm),
		"keys":             strconv.Quote(proof.KeysText([]proof.PublicKey{{Verifier: releasedKey, From: time.UnixMilli(1_772_000_000_123).UTC()}})),
		"inclusion":        strconv.Quote(included.Text()), "consistency": strconv.Quote(joined.Text()), "leaf": leaves[0].String(),
	}
	frozentest.Hold(t, "testdata/released", now)
}
