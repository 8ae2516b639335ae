package server_test

import (
	"net/url"
	"strings"
	"testing"

	"relevel/jobs"
)

func TestChangeIsAnsweredOnce(t *testing.T) {
	b := newBrowser(t, newSite(t))
	shows(t, b.get(b.page("/changes")), "Nothing was changed since the aim was agreed", "Put a variation")
	put := func(text, amount, currency string) string {
		b.saved("change", "", url.Values{"text": {text}, "amount": {amount}, "currency": {currency}}, picture(t))
		all := b.caller.state(b.job).Changes
		return b.page("/changes/" + all[len(all)-1].ID.String())
	}
	yes, no, back := put("one more stump", "480.5", "AUD"), put("a new step", "99", "NZD"), put("paint", "", "")
	shows(t, b.get(yes), "one more stump", "480.50 AUD", "Asked: no answer yet", "to-sign", `class="photo"`)

	name, how := url.Values{"name": {"Mr Owner"}, "how": {"by phone"}}, "by phone"
	with := func(more url.Values) url.Values {
		all := url.Values{}
		for _, v := range []url.Values{name, more} {
			for k, s := range v {
				all[k] = s
			}
		}
		return all
	}
	if status, body, _ := b.reply(yes, "answer", with(nil)); status != 422 || !strings.Contains(body, "accepted or declined") {
		t.Errorf("neither yes nor no: status %d: %s", status, body)
	}
	if status, body, _ := b.reply(yes, "answer", with(url.Values{"said": {"yes"}, "how": {""}})); status != 422 || !strings.Contains(body, "missing") || !strings.Contains(body, "Mr Owner") {
		t.Errorf("answered nohow: status %d", status)
	}
	b.reply(yes, "answer", with(url.Values{"said": {"yes"}}))
	b.reply(no, "answer", with(url.Values{"said": {"no"}, "why": {"too dear"}}))
	b.reply(back, "withdraw", url.Values{"name": {"Mere Kohu"}, "why": {"not needed"}})
	shows(t, b.get(yes), "Agreed</b> by Mr Owner, "+how)
	hides(t, b.get(yes), "to-sign", "?do=answer")
	if status, body, _ := b.post(yes, url.Values{"do": {"answer"}, "said": {"no"}, "name": {"x"}}); status != 409 || !strings.Contains(body, "another change that follows it") {
		t.Errorf("answered twice: status %d", status)
	}
	list := b.get(b.page("/changes"))
	shows(t, list, "agreed by Mr Owner, by phone", "declined by Mr Owner", "withdrawn by Mere Kohu", "Agreed so far", `<td class="num">480.50 AUD</td>`)
	hides(t, list, "579", "NZD</td></tr></tbody>")

	follow := b.page("/record/change?follows=" + yes[strings.LastIndex(yes, "/")+1:])
	shows(t, b.get(follow), `selected>one more stump`)
	all := b.caller.state(b.job).Changes
	if got := []jobs.ChangeState{all[0].State, all[1].State, all[2].State}; got[0] != jobs.ChangeAgreed || got[1] != jobs.ChangeDeclined || got[2] != jobs.ChangeWithdrawn {
		t.Errorf("states %v", got)
	}
}

// Two currencies are never added up.
func TestChangesOfTwoCurrencies(t *testing.T) {
	b := newBrowser(t, newSite(t))
	d := newDevice(t, b.job)
	for _, body := range []string{`{"text":"a","amount":100,"currency":"AUD"}`, `{"text":"b","amount":50,"currency":"NZD"}`, `{"text":"c","amount":0.5,"currency":"AUD"}`} {
		id, raw := d.event("change", body)
		b.caller.post(b.job, raw, d.raw("change-answered", `{"change":"`+id.String()+`","accepted":true,"name":"owner"}`))
	}
	page := b.get(b.page("/changes"))
	shows(t, page, "2 variations</th><td class=\"num\">100.50 AUD", "1 variation</th><td class=\"num\">50.00 NZD", "Each currency by itself")
}
