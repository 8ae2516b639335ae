package server

import (
	"net/http"
	"net/url"
	"slices"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// changeRoutes add the pages of what was changed after it was agreed.
func (p *pages) changeRoutes(own firmRoutes) {
	own.get("/jobs/{job}/changes", p.getChangesPage)
	own.get("/jobs/{job}/changes/{change}", p.getChangePage)
	own.post("/jobs/{job}/changes/{change}", p.postChangePage)
}

// getChangesPage is GET /jobs/{job}/changes.
func (p *pages) getChangesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page := web.ChangesPage{
		Frame: p.frame(r, v, "Changes on "+v.job.Name), Agreed: jobs.Agreed(v.picture.Changes),
		Record: v.record(events.KindChange, "") + "?back=" + url.QueryEscape(v.base()+"/changes"),
	}
	page.Live = v.live()
	for i := range v.picture.Changes {
		page.Lines = append(page.Lines, v.changeLine(i))
	}
	slices.Reverse(page.Lines)
	return show(w, http.StatusOK, page)
}

// changeLine is the change at a place of the list, from nought.
func (v view) changeLine(i int) web.ChangeLine {
	c := v.picture.Changes[i]
	if c.Answer != nil {
		c.Answer.At = c.Answer.At.In(v.zone)
	}
	return web.ChangeLine{
		Change: c, Number: i + 1, When: web.When(c.At.In(v.zone), v.now), Day: c.At.In(v.zone).Format(web.LongDay), By: v.names[c.By],
		Href: v.changeHref(c.ID), Line: v.bookLine(c.Seq), Photos: photosIn(c.Files), Before: v.changeLink(c.Follows), After: v.changeLink(c.FollowedBy),
	}
}

func (v view) changeHref(id events.ID) string { return v.base() + "/changes/" + id.String() }

// changeLink leads to another change, nil where there is none.
func (v view) changeLink(id events.ID) *web.ChangeLink {
	i := slices.IndexFunc(v.picture.Changes, func(c jobs.Change) bool { return c.ID == id })
	if i < 0 {
		return nil
	}
	return &web.ChangeLink{Number: i + 1, Href: v.changeHref(id)}
}

// getChangePage is GET /jobs/{job}/changes/{change}?do=.
func (p *pages) getChangePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page, err := p.changePage(r, v)
	if err != nil {
		return err
	}
	if do := r.URL.Query().Get("do"); page.Change.Open && (do == "answer" || do == "withdraw") {
		if page.Reply, err = p.changeReply(r, v, do, changeFixed(r, page.Change.Change)); err != nil {
			return err
		}
	}
	return show(w, http.StatusOK, page)
}

func (p *pages) changePage(r *http.Request, v view) (page web.ChangePage, err error) {
	id, err := events.ParseID(mux.Vars(r)["change"])
	i := slices.IndexFunc(v.picture.Changes, func(c jobs.Change) bool { return c.ID == id })
	if err != nil || i < 0 {
		return page, refuse(http.StatusNotFound, "There is no such change on this job. It may have been voided: look in the book.")
	}
	page = web.ChangePage{Frame: p.frame(r, v, "Change on "+v.job.Name), Change: v.changeLine(i), Place: v.job.Place}
	page.Ways = []web.Action{{Verb: "Put another that follows it", Href: v.record(events.KindChange, "") + "?" + url.Values{"follows": {id.String()}, "back": {v.base() + "/changes"}}.Encode()}}
	if page.Change.Open {
		page.Ways = append([]web.Action{{Verb: "Record the answer", Href: "?do=answer#reply"}, {Verb: "Withdraw it", Href: "?do=withdraw#reply"},
			{Verb: "Have it answered by the owner’s link", Href: v.base() + "/shares"}}, page.Ways...)
	}
	return page, nil
}

// changeReply has two buttons for the owner's answer, so that neither is recorded
// by leaving something out.
func (p *pages) changeReply(r *http.Request, v view, do string, fixed url.Values) (*web.Reply, error) {
	reply, err := p.reply(r, v, do, fixed)
	if err == nil && reply != nil {
		answerButtons(reply)
	}
	return reply, err
}

func answerButtons(reply *web.Reply) {
	if reply.Do == "answer" {
		reply.Buttons = []web.ReplyButton{{Name: "said", Value: "yes", Label: "Accepted"}, {Name: "said", Value: "no", Label: "Declined"}}
	}
}

func changeFixed(r *http.Request, c jobs.Change) url.Values {
	fixed := url.Values{"change": {c.ID.String()}, "accepted": {""}, "withdrawn": {"yes"}}
	if r.PostForm != nil && r.PostForm.Get("said") == "yes" {
		fixed.Set("accepted", "yes")
	}
	return fixed
}

// postChangePage is POST /jobs/{job}/changes/{change}: the owner's answer, or that
// it is taken back. What was answered already is followed by another change.
func (p *pages) postChangePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page, err := p.changePage(r, v)
	if err != nil {
		return err
	}
	sent, err := readSent(w, r)
	if err != nil {
		return err
	}
	defer sent.close()
	keepRecorder(w, r)
	do := r.PostFormValue("do")
	switch said := r.PostForm.Get("said"); {
	case !page.Change.Open:
		return refuse(http.StatusConflict, "This change was answered before. What is other now is another change that follows it.")
	case do == "answer" && said != "yes" && said != "no":
		sent.wrong[""] = "say whether it was accepted or declined, by one of the two buttons"
	}
	again, saved, err := p.takeReply(r, v, sent, do, changeFixed(r, page.Change.Change))
	if err != nil {
		return err
	}
	if again != nil {
		answerButtons(again)
		page.Reply = again
		return show(w, http.StatusUnprocessableEntity, page)
	}
	http.Redirect(w, r, savedAt(r.URL.Path, saved), http.StatusSeeOther)
	return nil
}
