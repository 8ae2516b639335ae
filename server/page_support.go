package server

import (
	"net/http"
	"net/url"
	"slices"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// ownLines is how many lines of the book a support's page shows.
const ownLines = 40

// getSupportPage is GET /jobs/{job}/supports/{support}.
func (p *pages) getSupportPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	s, ok := v.picture.Support(mux.Vars(r)["support"])
	if !ok {
		return refuse(http.StatusNotFound, "The plan has no support of that name.")
	}
	lines, earliest, err := p.ownBefore(r.Context(), v, s.ID, v.picture.Seq+1, ownLines)
	if err != nil {
		return err
	}
	next := nextKinds(s, v.picture)
	page := web.SupportPage{
		Frame: p.frame(r, v, s.ID+", "+v.job.Name), Support: s,
		Section: svg(drawing.Section(s, s.Bearer, v.options(0))),
		Due:     v.nextAction(s), Actions: atSupport(v.actions(next, s.ID), s), Others: v.actions(without(supportKinds, next), s.ID),
		Book: lines, Neighbours: v.picture.Neighbours(s.ID),
	}
	for i, l := range lines {
		if l.VoidHref != "" { // and back here
			lines[i].VoidHref += "&back=" + url.QueryEscape(v.supportPage(s.ID))
		}
	}
	if earliest > 1 {
		page.Earlier = v.book("before", earliest, web.BookFilter{Place: s.ID})
	}
	page.Live = v.live()
	if m, read := v.picture.After.Place(s.ID); read {
		page.Later = &m
	}
	if err := p.carried(r, v, s.ID, &page); err != nil {
		return err
	}
	page.Actions = slices.DeleteFunc(page.Actions, func(a web.Action) bool { return a.Verb == page.Due.Verb })
	return show(w, http.StatusOK, page)
}

// carried adds what the bearer over a support says, what it carries, how wet its
// timber is, and the stops that are proposed there.
func (p *pages) carried(r *http.Request, v view, id string, page *web.SupportPage) error {
	for _, one := range v.picture.Proposals {
		if len(one.Supports) == 0 || slices.Contains(one.Supports, id) {
			page.Proposals = append(page.Proposals, one)
		}
	}
	if below := v.picture.Below; below != nil {
		for _, m := range below.Moisture {
			if m.Support == id {
				page.Wet = append(page.Wet, m)
			}
		}
	}
	pour, err := pourOf(r)
	if err != nil {
		pour = jobs.Pour{} // what was typed stays in the form
	}
	if err := p.ownBags(r, v.key.firm, &pour); err != nil {
		return err
	}
	page.Thickness, page.BagLitres = r.URL.Query().Get("thickness_mm"), r.URL.Query().Get("bag_litres")
	if page.BagLitres == "" && pour.BagM3 > 0 {
		page.BagLitres = decimal(roundTo(pour.BagM3*1000, 6))
	}
	return p.states.useIn(r.Context(), v.key, v.firm, func(state *jobs.State) {
		if c, has := state.Carrying(id, 0); has {
			page.Carrying = &c
		}
		if l, has := state.LoadOn(id, pour); has {
			page.Load = &l
		}
	})
}

// atSupport names the step of work that is due: a support that is out is set, any
// other is fixed.
func atSupport(actions []web.Action, s jobs.Support) []web.Action {
	work, _ := web.FormOf(events.KindSupportWork)
	for i, a := range actions {
		switch {
		case a.Verb != work.Verb:
		case s.Out:
			actions[i] = web.Action{Verb: "Set", Href: a.Href + "&step=" + string(events.Set)}
		default:
			actions[i] = web.Action{Verb: "Fix", Href: a.Href + "&step=" + string(events.Refixed)}
		}
	}
	return actions
}

// supportKinds are what is recorded about one support.
var supportKinds = []events.Kind{
	events.KindReading, events.KindJacking, events.KindPacking, events.KindJackDown, events.KindSupportWork, events.KindSigned,
	events.KindBlocking, events.KindStop, events.KindFinding, events.KindTie, events.KindNote,
}

func without(all, some []events.Kind) []events.Kind {
	var rest []events.Kind
	for _, k := range all {
		if !slices.Contains(some, k) {
			rest = append(rest, k)
		}
	}
	return rest
}

// nextKinds are the buttons on the drawing: what usually follows the state a
// support is in. They force nothing.
func nextKinds(s jobs.Support, p jobs.Picture) []events.Kind {
	read := events.KindReading
	if !anySetup(p) {
		read = events.KindSetup
	}
	switch {
	case s.Stopped:
		return []events.Kind{events.KindGoAhead, read}
	case s.NoneHere:
		return []events.Kind{events.KindNote}
	case s.Out:
		return []events.Kind{events.KindSupportWork, events.KindNote}
	case s.State == jobs.IsPacked:
		return []events.Kind{events.KindJackDown, read}
	case s.OnJack:
		return []events.Kind{read, events.KindPacking, events.KindJacking, events.KindJackDown}
	}
	return kindsAfter(s, read)
}

func kindsAfter(s jobs.Support, read events.Kind) []events.Kind {
	switch s.State {
	case jobs.OnTemporary:
		return []events.Kind{read, events.KindJacking, events.KindPacking}
	case jobs.IsDown:
		return []events.Kind{read, events.KindSupportWork}
	case jobs.IsFixed:
		return []events.Kind{events.KindSigned, read}
	case jobs.HasLapsed, jobs.IsFound:
		return []events.Kind{read}
	case jobs.IsSigned:
		return []events.Kind{read, events.KindNote}
	}
	return []events.Kind{read, events.KindJacking}
}
