package server

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// stopRoutes add the page of what stands against going on.
func (p *pages) stopRoutes(own firmRoutes) {
	own.get("/jobs/{job}/stops", p.getStopsPage)
	own.get("/jobs/{job}/stops/{stop}", p.getStopsPage) // with the form of its go-ahead
	own.post("/jobs/{job}/stops/{stop}", p.postGoAhead)
}

// getStopsPage is GET /jobs/{job}/stops and /jobs/{job}/stops/{stop}.
func (p *pages) getStopsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page, err := p.stopsPage(r, v)
	if err != nil {
		return err
	}
	if text := mux.Vars(r)["stop"]; text != "" {
		line := page.open(text)
		if line == nil {
			return refuse(http.StatusNotFound, "No such stop stands on this job: it ended, or was voided.")
		}
		if line.Reply, err = p.goAheadForm(r, v, line.Stop); err != nil {
			return err
		}
		line.Reply.Values.Set("who", line.Name)
	}
	return show(w, http.StatusOK, page.StopsPage)
}

// stopsPage is the page while it is filled.
type stopsPage struct{ web.StopsPage }

func (s stopsPage) open(id string) *web.StopLine {
	for i := range s.Open {
		if s.Open[i].ID.String() == id {
			return &s.Open[i]
		}
	}
	return nil
}

func (p *pages) stopsPage(r *http.Request, v view) (page stopsPage, err error) {
	page.StopsPage = web.StopsPage{Frame: p.frame(r, v, "Stops on "+v.job.Name), Record: v.record(events.KindStop, "")}
	page.Live = v.live()
	var known *phonesOf
	for _, s := range slices.Backward(v.picture.Halts) {
		line := v.stopLine(s)
		if !s.Open {
			page.Ended = append(page.Ended, line)
			continue
		}
		if known == nil {
			if known, err = p.phonesOf(r.Context(), v); err != nil {
				return page, err
			}
		}
		if err := p.fillPhones(r.Context(), v, known, &line); err != nil {
			return page, err
		}
		page.Open = append(page.Open, line)
	}
	return page, nil
}

func (v view) stopLine(s jobs.Stop) web.StopLine {
	line := web.StopLine{
		Stop: s, When: web.When(s.At.In(v.zone), v.now), By: v.names[s.By], Line: v.bookLine(s.Seq), Photos: photosIn(s.Files),
		Href: v.base() + "/stops/" + s.ID.String() + "#reply",
	}
	for _, id := range s.Supports {
		line.At = append(line.At, web.Action{Verb: id, Href: v.supportPage(id)})
	}
	for _, g := range s.GoAheads {
		line.GoAheads = append(line.GoAheads, web.GoAheadLine{
			GoAhead: g, When: web.When(g.At.In(v.zone), v.now), By: v.names[g.By], Line: v.bookLine(g.Seq), Said: v.goAheadSaid(s, g), Photos: photosIn(g.Files),
			Odd: !g.Named && !v.ofOffice(g.Who, g.WhoOf),
		})
	}
	return line
}

// goAheadSaid says in words what is odd about a go-ahead. Who is of the office is
// known here and not in the log.
func (v view) goAheadSaid(s jobs.Stop, g jobs.GoAhead) string {
	switch {
	case !g.Ended && !g.Named && g.Why == "":
		return "not named, and no reason given: it ended nothing"
	case !g.Ended:
		return "the stop had ended before"
	case g.Named:
		return ""
	case !v.ofOffice(g.Who, g.WhoOf):
		return fmt.Sprintf("given by %s, who was not named and is not known as somebody of the office", g.Who)
	}
	return fmt.Sprintf("given by %s of the office, where %s was named", g.Who, s.Name)
}

// ofOffice tells whether somebody is of the office, by id or by name.
func (v view) ofOffice(name string, id events.ID) bool {
	return slices.ContainsFunc(v.people, func(one jobs.Person) bool {
		return one.Role == jobs.Office && (one.ID == id || id.IsZero() && strings.EqualFold(one.Name, strings.TrimSpace(name)))
	})
}

// phonesOf is what is known of the phones of a firm and of those on one job.
type phonesOf struct {
	names map[events.ID]string // by device, of those that open the firm's jobs
	heard map[events.ID]time.Time
	seen  []jobs.Seen
}

func (p *pages) phonesOf(ctx context.Context, v view) (*phonesOf, error) {
	tokens, err := p.config.Store.ListTokens(ctx, v.key.firm)
	if err != nil {
		return nil, err
	}
	known, err := p.knownPhones(ctx, v.key.firm)
	if err != nil {
		return nil, err
	}
	all := &phonesOf{names: map[events.ID]string{}, heard: map[events.ID]time.Time{}}
	for _, t := range slices.Backward(tokens) { // the newest name of a device
		if !t.Device.IsZero() && t.RevokedAt.IsZero() {
			all.names[t.Device] = t.Name
		}
	}
	for device, phone := range known {
		all.heard[device] = phone.HeardAt
	}
	err = p.states.use(ctx, v.key, func(state *jobs.State) { all.seen = state.Seen() })
	return all, err
}

// fillPhones says which phones know of a stop: those that recorded having seen it,
// those that were in touch since, and the others, to whom one has to call out.
func (p *pages) fillPhones(ctx context.Context, v view, known *phonesOf, line *web.StopLine) error {
	stored, err := p.config.Log.Read(ctx, v.key.firm, v.key.job, line.Seq-1, 1)
	if err != nil || len(stored) == 0 {
		return err
	}
	since, here := stored[0].RecordedAt, map[events.ID]bool{}
	for _, s := range known.seen {
		if name := known.names[s.Device]; name != "" {
			here[s.Device] = true
			line.Phones = append(line.Phones, v.phoneKnows(name, line.Stop, s, known.heard[s.Device], since))
		}
	}
	for device := range known.names {
		switch {
		case here[device]:
		case known.heard[device].After(since):
			line.ElseKnow++
		default:
			line.ElseIgnore++
		}
	}
	return nil
}

func (v view) phoneKnows(name string, stop jobs.Stop, s jobs.Seen, heard, since time.Time) web.PhoneKnows {
	at := web.When(heard.In(v.zone), v.now)
	switch {
	case s.Device == stop.Device:
		return web.PhoneKnows{Name: name, Words: "recorded it", Knows: true}
	case s.Seq >= stop.Seq:
		return web.PhoneKnows{Name: name, Words: "has seen it, and recorded since", Knows: true}
	case heard.After(since):
		return web.PhoneKnows{Name: name, Words: "in touch since, last at " + at, Knows: true}
	case heard.IsZero():
		return web.PhoneKnows{Name: name, Words: "nobody knows when it was last in touch: call out"}
	}
	return web.PhoneKnows{Name: name, Words: "last in touch at " + at + ", before the stop: call out"}
}

func (p *pages) goAheadForm(r *http.Request, v view, stop jobs.Stop) (*web.Reply, error) {
	reply, err := p.reply(r, v, "go-ahead", goAheadFixed(r, v, stop))
	if err == nil {
		reply.Sources.Named = stop.Name
	}
	return reply, err
}

// goAheadFixed names the stop, and whose name stands in the form, where that is
// somebody of the firm.
func goAheadFixed(r *http.Request, v view, stop jobs.Stop) url.Values {
	fixed := url.Values{"stop": {stop.ID.String()}, "who_of": {""}}
	for _, one := range v.people {
		if r.PostForm != nil && strings.EqualFold(strings.TrimSpace(r.PostForm.Get("who")), one.Name) {
			fixed.Set("who_of", one.ID.String())
		}
	}
	return fixed
}

// postGoAhead is POST /jobs/{job}/stops/{stop}. Who was named gives the go-ahead,
// or somebody of the office with a reason. A phone records whatever was said.
func (p *pages) postGoAhead(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page, err := p.stopsPage(r, v)
	if err != nil {
		return err
	}
	line := page.open(mux.Vars(r)["stop"])
	if line == nil {
		return refuse(http.StatusNotFound, "No such stop stands on this job: it ended, or was voided.")
	}
	sent, err := readSent(w, r)
	if err != nil {
		return err
	}
	defer sent.close()
	keepRecorder(w, r)
	fixed := goAheadFixed(r, v, line.Stop)
	for name, cure := range v.mayNot(who(r), line.Stop, r.PostForm, fixed.Get("who_of")) {
		sent.wrong[name] = cure
	}
	again, saved, err := p.takeReply(r, v, sent, "go-ahead", fixed)
	if err != nil {
		return err
	}
	if again != nil {
		again.Sources.Named, line.Reply = line.Name, again
		return show(w, http.StatusUnprocessableEntity, page.StopsPage)
	}
	http.Redirect(w, r, savedAt(v.base()+"/stops", saved), http.StatusSeeOther)
	return nil
}

// mayNot says what stands against a go-ahead at the desk.
func (v view) mayNot(sits asker, stop jobs.Stop, form url.Values, whoOf string) web.Wrong {
	who := form.Get("who")
	id, _ := events.ParseID(whoOf)
	if !id.IsZero() && !sits.person.ID.IsZero() && id != sits.person.ID {
		return web.Wrong{"who": strings.TrimSpace(who) + " gives a go-ahead by signing in: you are signed in as " + sits.person.Name}
	}
	if strings.TrimSpace(who) == "" || stop.MayEnd(who, id) {
		return nil
	}
	if !v.ofOffice(who, id) {
		return web.Wrong{"who": stop.Name + " was named: choose who was, or somebody of the office, who says why"}
	}
	if strings.TrimSpace(form.Get("why")) == "" {
		return web.Wrong{"why": fmt.Sprintf("missing: %s was named, so %s says why it is right to go on", stop.Name, strings.TrimSpace(who))}
	}
	return nil
}
