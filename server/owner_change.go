package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// byLink is how an answer came that the owner gave here.
const byLink = "by the owner’s link"

// ownerChanges are the changes that a visitor may see, each as it stands now: one that
// was answered, or taken back, after the last record of the share is not asked again.
func (p *pages) ownerChanges(ctx context.Context, v visitor, seen view) (lines []web.OwnerChange, err error) {
	now, err := p.states.pictureIn(ctx, v.key, p.config.Now().In(seen.zone), seen.firm)
	if err != nil {
		return nil, err
	}
	for i, c := range now.Changes {
		if v.share.UpTo > 0 && c.Seq > v.share.UpTo {
			continue
		}
		lines = append(lines, v.ownerChange(seen, c, i+1))
	}
	slices.Reverse(lines)
	return lines, nil
}

func (v visitor) ownerChange(seen view, c jobs.Change, number int) web.OwnerChange {
	line := web.OwnerChange{
		Number: number, What: c.What, Amount: jobs.AmountWords(c.Amount, c.Currency), State: c.State, Open: c.Open,
		Day: c.At.In(seen.zone).Format(web.LongDay), Href: v.base() + "/changes/" + c.ID.String(),
	}
	if c.Answer != nil {
		line.Answer = joined(", ", c.Answer.Name, c.Answer.How, c.Answer.At.In(seen.zone).Format(web.LongDay+" "+web.Clock))
		line.Why = c.Answer.Why
	}
	for i, f := range c.Files {
		if f.Type == events.Photo {
			address := v.base() + "/photos/" + f.SHA256.String()
			line.Photos = append(line.Photos, web.Photo{Small: address + "?size=320", Full: address + "?size=1600", Alt: fmt.Sprintf("Photo %d of this change", i+1)})
		}
	}
	return line
}

// ownerChangePage is the page of the change that an address names.
func (p *pages) ownerChangePage(r *http.Request, v visitor) (page web.OwnerChangePage, seen view, err error) {
	id, err := events.ParseID(mux.Vars(r)["change"])
	if err != nil {
		return page, seen, events.ErrNotFound
	}
	if seen, err = p.lookSeen(r, v); err != nil {
		return page, seen, err
	}
	all, err := p.ownerChanges(r.Context(), v, seen)
	if err != nil {
		return page, seen, err
	}
	at := slices.IndexFunc(all, func(c web.OwnerChange) bool { return c.Href == v.base()+"/changes/"+id.String() })
	if at < 0 {
		return page, seen, events.ErrNotFound
	}
	form, err := p.desk.newID()
	return web.OwnerChangePage{Frame: seen.ownerFrame("A change to agree, " + seen.job.Name), Of: seen.firm.Name, Job: seen.job, Change: all[at], Back: v.base(), FormID: form.String(), Wrong: web.Wrong{}}, seen, err
}

// getOwnerChange is GET /s/{share}/changes/{change}.
func (p *pages) getOwnerChange(w http.ResponseWriter, r *http.Request, v visitor) error {
	page, _, err := p.ownerChangePage(r, v)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

// postOwnerChange is POST /s/{share}/changes/{change}: the owner accepts or declines. The
// answer is an event of the job like any other, recorded by nobody of the firm.
func (p *pages) postOwnerChange(w http.ResponseWriter, r *http.Request, v visitor) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	page, seen, err := p.ownerChangePage(r, v)
	if err != nil {
		return err
	}
	page.Name, page.Why = r.PostFormValue("name"), r.PostFormValue("why")
	form, err := events.ParseID(r.PostFormValue("form"))
	if err != nil && !page.Change.Open {
		page.Late = true
		return show(w, http.StatusConflict, page)
	}
	if err != nil {
		return refuse(http.StatusBadRequest, "This form is incomplete: open it again.")
	}
	page.FormID = form.String()
	body := p.ownerAnswer(r, v, &page)
	if len(page.Wrong) > 0 && page.Change.Open {
		return show(w, http.StatusUnprocessableEntity, page)
	}
	made, err := p.answerDraft(form, v, seen, body)
	if err != nil {
		return err
	}
	err = p.recordAnswer(r.Context(), v, body.Change, made)
	if errors.Is(err, errAnswered) {
		if page, _, err = p.ownerChangePage(r, v); err != nil {
			return err
		}
		page.Late = true
		return show(w, http.StatusConflict, page)
	}
	if err != nil {
		return err
	}
	p.trail.note(v.share.Firm, r, jobs.Trace{What: jobs.ShareAnswered, Token: v.share.ID, Job: v.share.Job, Detail: map[bool]string{true: "accepted", false: "declined"}[body.Accepted]})
	http.Redirect(w, r, page.Change.Href, http.StatusSeeOther)
	return nil
}

// ownerAnswer reads the form, and puts what is wrong on the page. Neither answer is
// given by leaving something out.
func (p *pages) ownerAnswer(r *http.Request, v visitor, page *web.OwnerChangePage) events.ChangeAnswered {
	said := r.PostFormValue("said")
	if said != "yes" && said != "no" {
		page.Wrong["said"] = "accept it or decline it, by one of the two buttons"
	}
	body := events.ChangeAnswered{Accepted: said == "yes", Name: strings.TrimSpace(page.Name), How: byLink, Why: strings.TrimSpace(page.Why), Share: v.share.ID}
	body.Change, _ = events.ParseID(mux.Vars(r)["change"])
	if bad, is := errors.AsType[*levelling.InputError](body.Check()); is {
		page.Wrong[bad.Field] = bad.Cure
	}
	return body
}

// answerDraft makes the event of an answer, or finds the one that was made of the same
// form before.
func (p *pages) answerDraft(form events.ID, v visitor, seen view, body events.ChangeAnswered) (*draft, error) {
	text, err := json.Marshal(body)
	if err != nil {
		return nil, fmt.Errorf("write an answer: %w", err)
	}
	return p.desk.take(entry{id: form, key: v.key, kind: events.KindChangeAnswered, seen: seen.picture.Seq, zone: seen.zone, bodies: []json.RawMessage{text}})
}

var errAnswered = errors.New("the change was answered before, or taken back")

// mostTurns is how often an answer is tried where others record at the same time.
const mostTurns = 20

// recordAnswer records an answer to a change that nobody answered yet. It is stored onto
// the very record up to which the change was seen to be open: of two answers at once one
// counts, and the other one is told.
func (p *pages) recordAnswer(ctx context.Context, v visitor, change events.ID, made *draft) error {
	if p.desk.isStored(made) {
		return nil
	}
	for range mostTurns {
		seq, c, err := p.changeNow(ctx, v, change)
		switch {
		case err != nil:
			return err
		case c.Answer != nil && c.Answer.ID == made.id && saysTheSame(made, c): // stored before, and the answer to it was lost
			p.desk.stored(made, "Saved.", "")
			return nil
		case !c.Open:
			return errAnswered
		}
		_, err = p.recordOnto(ctx, v.key, made.raws, &seq)
		if err == nil {
			p.desk.stored(made, "Saved.", "")
			return nil
		}
		if !errors.Is(err, errCameBetween) {
			return err
		}
	}
	return errCameBetween
}

// saysTheSame reports whether an answer is the one that a draft was made of.
func saysTheSame(made *draft, was jobs.Change) bool {
	var e events.Event
	var body events.ChangeAnswered
	if len(made.raws) != 1 || json.Unmarshal(made.raws[0], &e) != nil || json.Unmarshal(e.Body, &body) != nil {
		return false
	}
	a := was.Answer
	return body.Accepted == (was.State == jobs.ChangeAgreed) && body.Name == a.Name && body.Why == a.Why && body.Share == a.Share
}

// changeNow is a change as it stands, and up to which record. One that was voided is not
// open.
func (p *pages) changeNow(ctx context.Context, v visitor, id events.ID) (seq int64, c jobs.Change, err error) {
	err = p.states.use(ctx, v.key, func(state *jobs.State) {
		seq = state.Seq()
		all := state.Picture(p.config.Now()).Changes
		if i := slices.IndexFunc(all, func(c jobs.Change) bool { return c.ID == id }); i >= 0 {
			c = all[i]
		}
	})
	return seq, c, err
}
