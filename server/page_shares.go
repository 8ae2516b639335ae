package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// getSharesPage is GET /jobs/{job}/shares.
func (p *pages) getSharesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page, err := p.sharesPage(r, v)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) sharesPage(r *http.Request, v view) (page web.SharesPage, err error) {
	page = web.SharesPage{Frame: p.frame(r, v, "Owner’s links, "+v.job.Name), Around: v.around("/shares"), Mail: p.mails(), Wrong: web.Wrong{}}
	page.Until = v.now.Add(jobs.ShareLasts).Format(time.DateOnly)
	if page.Ends, err = p.shareEnds(r.Context(), v); err != nil {
		return page, err
	}
	all, err := p.config.Store.ListShares(r.Context(), v.key.firm, v.key.job)
	if err != nil {
		return page, err
	}
	for _, one := range all {
		page.Shares = append(page.Shares, v.shareLine(one))
	}
	id, err := p.desk.newID()
	page.ID = id.String()
	return page, err
}

// shareEnds are how far an owner may see: on and on, up to now, or up to the evening of
// a day on which something was recorded.
func (p *pages) shareEnds(ctx context.Context, v view) ([]web.Choice, error) {
	ends := []web.Choice{{Value: "", Label: "all, and what is still to come"}}
	records, err := p.opened.upTo(ctx, v.key, v.picture.Seq)
	if err != nil || len(records) == 0 {
		return ends, err
	}
	ends = append(ends, web.Choice{Value: strconv.FormatInt(v.picture.Seq, 10), Label: fmt.Sprintf("up to now, line %d of the book", v.picture.Seq)})
	day := ""
	for _, e := range slices.Backward(records) {
		on := e.RecordedAt.In(v.zone).Format(time.DateOnly)
		if on != day && day != "" { // the last line of an earlier day
			ends = append(ends, web.Choice{Value: strconv.FormatInt(e.Seq, 10), Label: fmt.Sprintf("up to the evening of %s, line %d", dayTitle(on), e.Seq)})
		}
		day = on
	}
	return ends, nil
}

func (v view) shareLine(s jobs.Share) web.ShareLine {
	line := web.ShareLine{
		ID: s.ID.String(), Name: s.Name, Since: joined(", ", v.shareTime(s.CreatedAt), v.names[s.MadeBy]), Until: lastDay(s.ExpiresAt.In(v.zone)), Opened: "never",
	}
	if s.UpTo > 0 {
		line.Sees = fmt.Sprintf("up to line %d", s.UpTo)
	}
	switch {
	case s.Opened == 1:
		line.Opened = "once, " + v.shareTime(s.OpenedAt)
	case s.Opened > 1:
		line.Opened = fmt.Sprintf("%d times, last %s", s.Opened, v.shareTime(s.OpenedAt))
	}
	switch {
	case !s.RevokedAt.IsZero():
		line.Over = "revoked " + v.shareTime(s.RevokedAt)
	case !s.OpenAt(v.now):
		line.Over = "over since " + line.Until
	}
	return line
}

// shareTime is a moment with its year: links are looked at years later.
func (v view) shareTime(at time.Time) string {
	return at.In(v.zone).Format(web.LongDay + " " + web.Clock)
}

// lastDay is the last day of what ends at a moment.
func lastDay(end time.Time) string { return end.Add(-time.Millisecond).Format(web.LongDay) }

// postSharesPage is POST /jobs/{job}/shares: another link, shown on this page alone, and
// sent where an address was given.
func (p *pages) postSharesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page, err := p.sharesPage(r, v)
	if err != nil {
		return err
	}
	one, to := p.readShare(r, v, &page)
	if len(page.Wrong) > 0 {
		return show(w, http.StatusUnprocessableEntity, page)
	}
	made, secret, err := p.makeShare(r, one)
	if bad, is := errors.AsType[*levelling.InputError](err); is {
		page.Wrong[strings.ReplaceAll(bad.Field, "expires_at", "until")] = bad.Cure
		return show(w, http.StatusUnprocessableEntity, page)
	}
	if errors.Is(err, events.ErrConflict) { // the form was sent before: its link is shown once
		http.Redirect(w, r, v.base()+"/shares", http.StatusSeeOther)
		return nil
	}
	if err != nil {
		return err
	}
	if page, err = p.sharesPage(r, v); err != nil {
		return err
	}
	page.Made = &web.ShareMade{
		Link: p.shareLink(r, made, secret), Code: jobs.ShareCode(secret), Name: made.Name, Until: lastDay(made.ExpiresAt.In(v.zone)), To: to,
	}
	if to != "" {
		page.Made.Unsent = p.mailShare(r, v, to, *page.Made)
	}
	return show(w, http.StatusCreated, page)
}

// readShare reads the form of a link, and puts what is wrong on the page.
func (p *pages) readShare(r *http.Request, v view, page *web.SharesPage) (one jobs.Share, to string) {
	page.ID, page.Name, page.Until, page.UpTo, page.To = r.PostFormValue("id"), r.PostFormValue("name"), r.PostFormValue("until"), r.PostFormValue("up_to"), r.PostFormValue("email")
	one = jobs.Share{Firm: v.key.firm, Job: v.key.job, Name: strings.TrimSpace(page.Name)}
	one.ID, _ = events.ParseID(page.ID) // zero: a new one
	day, err := time.ParseInLocation(time.DateOnly, page.Until, v.zone)
	if err != nil {
		page.Wrong["until"] = "a day, such as 2027-03-02"
	}
	one.ExpiresAt = day.AddDate(0, 0, 1) // it opens all that day
	if page.UpTo != "" {
		if one.UpTo, err = strconv.ParseInt(page.UpTo, 10, 64); err != nil || one.UpTo < 1 {
			page.Wrong["up_to"] = "one of these"
		}
	}
	if page.Mail && strings.TrimSpace(page.To) != "" {
		to, err = jobs.ParseSignInName(page.To)
		p.blame(page.Wrong, err, "email")
	}
	return one, to
}

// mailShare sends a link, and reports whether that failed: the page shows it anyway.
func (p *pages) mailShare(r *http.Request, v view, to string, made web.ShareMade) (failed bool) {
	ctx, cancel := context.WithTimeout(r.Context(), mailTime)
	defer cancel()
	letter := Letter{Subject: v.firm.Name + ": " + v.job.Name, Text: fmt.Sprintf(`%s shares with you what is recorded of the work at %s:

%s

The link opens until %s. Whoever has it can read the record, so pass it on to nobody whom it does not concern.

Where it does not open by itself, type this code on the page that it leads to:

%s
`, v.firm.Name, v.job.Name, made.Link, made.Until, made.Code)}
	if err := p.config.Mail.Send(ctx, to, letter); err != nil {
		p.config.Logger.ErrorContext(ctx, "send an owner's link", "err", err)
		return true
	}
	return false
}

// postShareRevokePage is POST /jobs/{job}/shares/{share}/revoke.
func (p *pages) postShareRevokePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	if err := p.revokeShare(r, firm); err != nil {
		return err
	}
	http.Redirect(w, r, strings.TrimSuffix(r.URL.Path, "/"+mux.Vars(r)["share"]+"/revoke"), http.StatusSeeOther)
	return nil
}
