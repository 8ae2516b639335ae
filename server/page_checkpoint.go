package server

import (
	"context"
	"errors"
	"net/http"

	"relevel/events"
	"relevel/events/proof"
	"relevel/server/web"
)

// keyDay is a day in the life of a key, which may be years.
const keyDay = "2 January 2006"

// getCheckpointPage is GET /jobs/{job}/checkpoint.
func (p *pages) getCheckpointPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page := web.CheckpointPage{Frame: p.frame(r, v, "What was signed, "+v.job.Name), Around: v.around("/checkpoint"), Off: p.signs == nil}
	if page.Faults, err = p.faults(r.Context(), v); err != nil {
		return err
	}
	if !page.Off {
		if err := p.fillCheckpoint(r.Context(), v, &page); err != nil {
			return err
		}
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) fillCheckpoint(ctx context.Context, v view, page *web.CheckpointPage) error {
	keys, err := p.signs.signer.Keys(ctx)
	if err != nil {
		return err
	}
	for _, k := range keys {
		one := web.PublicKey{ID: k.ID(), Since: k.From.In(v.zone).Format(keyDay)}
		if !k.Until.IsZero() {
			one.Till = k.Until.In(v.zone).Format(keyDay)
		}
		page.Keys = append(page.Keys, one)
	}
	last, err := p.config.Checkpoints.LastFirmCheckpoint(ctx, v.key.firm)
	if err == nil {
		page.Firm = web.When(last.At.In(v.zone), v.now)
	} else if !errors.Is(err, events.ErrNotFound) {
		return err
	}
	k, err := p.config.Checkpoints.LastCheckpoint(ctx, v.key.firm, v.key.job)
	if errors.Is(err, events.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	if k.Size < v.picture.Seq {
		p.signs.mark(v.key)
	}
	page.Note, page.Size, page.When = string(k.Note), k.Size, web.When(k.At.In(v.zone), v.now)
	if behind := v.picture.Seq - k.Size; behind > 0 {
		page.Behind = count(int(behind), "line", "lines")
	}
	return signedBy(k, keys, page)
}

// signedBy names the keys under a checkpoint. A note that does not open is shown as it
// is, signed by nobody.
func signedBy(k proof.Kept, keys []proof.PublicKey, page *web.CheckpointPage) error {
	known, err := proof.Verifiers(keys)
	if err != nil {
		return err
	}
	signed, err := proof.Open(k.Note, known...)
	if err != nil {
		page.By = []string{"nobody: " + err.Error()}
		return nil
	}
	for _, by := range signed.By {
		page.By = append(page.By, by.String())
	}
	for _, other := range signed.Unknown {
		page.Others = append(page.Others, other.String())
	}
	return nil
}

// faults says where a job's log does not agree with what was signed.
func (p *pages) faults(ctx context.Context, v view) (said []string, err error) {
	if p.config.Checkpoints == nil {
		return nil, nil
	}
	faults, err := p.config.Checkpoints.ListFaults(ctx, v.key.firm, v.key.job)
	if err != nil {
		return nil, err
	}
	for _, f := range faults {
		line, err := p.faultLine(ctx, v, f)
		if err != nil {
			return nil, err
		}
		said = append(said, line)
	}
	return said, nil
}

func (p *pages) faultLine(ctx context.Context, v view, f proof.Fault) (string, error) {
	found := web.When(f.At.In(v.zone), v.now)
	held, err := p.config.Checkpoints.FindCheckpoint(ctx, v.key.firm, v.key.job, f.Held)
	switch {
	case errors.Is(err, events.ErrNotFound):
		return "Its tree is not that of its " + count(int(f.Size), "line", "lines") + ": nothing of it could be signed. Found " + found + ".", nil
	case err != nil:
		return "", err
	}
	return count(int(f.Held), "line was", "lines were") + " signed on " + web.When(held.At.In(v.zone), v.now) + ", and the book of " +
		count(int(f.Size), "line", "lines") + " does not continue them: " + f.Why + ". Found " + found + ".", nil
}
