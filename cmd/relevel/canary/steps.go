package canary

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"time"

	"relevel/events"
	"relevel/events/proof"
)

var errNothing = errors.New("nothing was recorded before")

// idOf is an id that is the same in every run of some period.
func (k *Canary) idOf(what string, period time.Time) (events.ID, error) {
	sum := sha256.Sum256(fmt.Appendf(nil, "canary %s %s %s", what, k.firm, period.Format(time.DateOnly)))
	return events.NewID(period, bytes.NewReader(sum[:]))
}

// seal writes the next note of the job. Its device is the job's own and counts as the
// log does, so that none of its numbers is missing.
func (k *Canary) seal(seq int64) (events.Incoming, error) {
	id, err := events.NewID(k.now, rand.Reader)
	if err != nil {
		return events.Incoming{}, err
	}
	device := k.job
	device[len(device)-1] ^= 1
	body, err := json.Marshal(events.Note{Text: "The canary sang."})
	if err != nil {
		return events.Incoming{}, err
	}
	offset := int64(0)
	raw, err := json.Marshal(events.Event{
		ID: id, Job: k.job, Kind: events.KindNote, V: 1, At: k.now, OffsetMS: &offset, ClockSession: "1",
		Device: device, DeviceSeq: seq + 1, SeenSeq: seq, Body: body,
	})
	if err != nil {
		return events.Incoming{}, err
	}
	return events.Receive(raw)
}

// append listens, and records a note.
func (k *Canary) append(ctx context.Context) error {
	_, seq, err := k.client.Book(ctx, k.job, 0, 1)
	if err != nil {
		return err
	}
	if k.live, err = k.client.Listen(ctx, k.job); err != nil {
		return err
	}
	if k.sent, err = k.seal(seq); err != nil {
		return err
	}
	receipt, err := k.client.Append(ctx, k.job, []events.Incoming{k.sent})
	if err != nil {
		return err
	}
	if len(receipt.Results) != 1 || receipt.Results[0].Outcome != events.WasStored || receipt.Results[0].ID != k.sent.Event.ID {
		return fmt.Errorf("what was sent is answered with %+v", receipt.Results)
	}
	k.seq = receipt.Results[0].Seq
	return nil
}

// read compares what is kept with what was sent, and its leaf with what it has to be.
func (k *Canary) read(ctx context.Context) error {
	if k.seq == 0 {
		return errNothing
	}
	page, _, err := k.client.Book(ctx, k.job, k.seq-1, 1)
	if err != nil {
		return err
	}
	if len(page) != 1 || page[0].Seq != k.seq || !bytes.Equal(page[0].Bytes, k.sent.Raw) {
		return errors.New("what came back is not what was sent")
	}
	k.kept = page[0]
	leaf := events.Leaf{
		Firm: k.firm, Job: k.job, Seq: k.seq, ID: k.sent.Event.ID, Kind: events.KindNote,
		RecordedAt: k.kept.RecordedAt, Commitment: events.Commit(k.kept.Salt, k.sent.Raw),
	}
	if leaf.Hash() != k.kept.Leaf {
		return errors.New("its leaf does not bind it")
	}
	return nil
}

// hear waits until the stream that was opened before tells of it.
func (k *Canary) hear(ctx context.Context) error {
	if k.seq == 0 {
		return errNothing
	}
	stop := context.AfterFunc(ctx, func() { k.live.Close() })
	defer stop()
	for {
		seq, err := k.live.Next()
		if err != nil || seq >= k.seq {
			return err
		}
	}
}

const askAgain = 250 * time.Millisecond

// checkpoint waits until it is signed.
func (k *Canary) checkpoint(ctx context.Context) error {
	if k.seq == 0 {
		return errNothing
	}
	for {
		note, err := k.client.Checkpoint(ctx, k.job)
		if err == nil {
			signed, bad := proof.Peek(note)
			if bad != nil {
				return bad
			}
			if signed.Size >= k.seq {
				k.note = note
				return nil
			}
			err = fmt.Errorf("%d of %d records are signed", signed.Size, k.seq)
		}
		select {
		case <-time.After(askAgain):
		case <-ctx.Done():
			return err
		}
	}
}

// prove checks the signature, and that what was recorded is in what was signed.
func (k *Canary) prove(ctx context.Context) error {
	if k.note == nil || k.kept.Seq == 0 {
		return errNothing
	}
	text, err := k.client.Keys(ctx)
	if err != nil {
		return err
	}
	keys, err := proof.ParseKeys(string(text))
	if err != nil {
		return err
	}
	known, err := proof.Verifiers(keys)
	if err != nil {
		return err
	}
	signed, err := proof.Open(k.note, known...)
	if err != nil {
		return err
	}
	text, err = k.client.Inclusion(ctx, k.job, k.seq, signed.Size)
	if err != nil {
		return err
	}
	shown, err := proof.ParseInclusion(string(text))
	if err != nil {
		return err
	}
	if shown.Index != k.seq-1 {
		return fmt.Errorf("the proof is of record %d, not of %d", shown.Index+1, k.seq)
	}
	_, err = shown.Check(k.kept.Leaf, known...)
	return err
}

// photo sends the photo of the day, which is stored once, and reads it back each time.
func (k *Canary) photo(ctx context.Context) error {
	day, err := k.idOf("photo", k.now.Truncate(24*time.Hour))
	if err != nil {
		return err
	}
	sent, err := draw(day)
	if err != nil {
		return err
	}
	digest := events.Digest(sha256.Sum256(sent))
	if err := k.client.PutPhoto(ctx, digest, sent); err != nil {
		return err
	}
	back, err := k.client.Photo(ctx, digest)
	if err != nil {
		return err
	}
	if !bytes.Equal(back, sent) {
		return errors.New("what came back is not what was sent")
	}
	return nil
}

// draw makes a small picture of an id.
func draw(id events.ID) ([]byte, error) {
	p := image.NewGray(image.Rect(0, 0, 8*len(id), 8))
	for x := range p.Rect.Dx() {
		for y := range p.Rect.Dy() {
			p.SetGray(x, y, color.Gray{Y: id[x/8]})
		}
	}
	var b bytes.Buffer
	err := jpeg.Encode(&b, p, nil)
	return b.Bytes(), err
}
