package server

import (
	"net/http"
	"net/url"

	"relevel/events"
	"relevel/server/web"
)

// reply prepares a form that stands on the page of what it speaks of.
func (p *pages) reply(r *http.Request, v view, do string, fixed url.Values) (*web.Reply, error) {
	form, ok := web.ReplyForm(do)
	if !ok {
		return nil, nil
	}
	record, err := p.recordPage(r, v, form, "")
	if err != nil {
		return nil, err
	}
	id, err := p.desk.newID()
	if err != nil {
		return nil, err
	}
	record.FormID, record.By, record.Values = id.String(), recorderOf(r, v), fixed
	return &web.Reply{RecordPage: record, Do: do, Action: r.URL.Path, Heading: record.Form.Title, Buttons: []web.ReplyButton{{Label: record.Form.Verb}}}, nil
}

// takeReply records what such a form was filled in with. What the form is about
// is said by the page, whatever came with it. The answer is the form again where
// something is wrong with it, and nil once it is saved.
func (p *pages) takeReply(r *http.Request, v view, sent *sent, do string, fixed url.Values) (again *web.Reply, saved events.ID, err error) {
	reply, err := p.reply(r, v, do, fixed)
	if err != nil || reply == nil {
		return nil, saved, orNothing(err)
	}
	for name, values := range fixed {
		r.PostForm[name] = values
	}
	made, wrong, err := p.draftOf(r, v, reply.RecordPage, sent, nil)
	if err != nil {
		return nil, saved, err
	}
	if len(wrong) > 0 {
		return p.wrongReply(r, reply, wrong), saved, nil
	}
	return nil, made.id, p.storeDraft(r, v, made, sent)
}

// wrongReply is the form as it was filled in, with what is wrong with it.
func (p *pages) wrongReply(r *http.Request, reply *web.Reply, wrong web.Wrong) *web.Reply {
	reply.Wrong, reply.Values = wrong, r.PostForm
	reply.FormID, reply.By = r.PostFormValue("form"), r.PostFormValue("recorder")
	return reply
}

// orNothing is an error, or that there is nothing of that name.
func orNothing(err error) error {
	if err != nil {
		return err
	}
	return refuse(http.StatusNotFound, "There is nothing of that name to record here.")
}
