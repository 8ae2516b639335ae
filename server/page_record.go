package server

import (
	"cmp"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// formOf returns the form an address names.
func formOf(r *http.Request) (web.Form, error) {
	form, ok := web.FormOf(events.Kind(mux.Vars(r)["kind"]))
	if !ok {
		return form, refuse(http.StatusNotFound, "Nothing of that kind is recorded.")
	}
	return form, nil
}

// getRecordPage is GET /jobs/{job}/record/{kind}?support=.
func (p *pages) getRecordPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	form, err := formOf(r)
	if err != nil {
		return err
	}
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page, err := p.recordPage(r, v, form, r.URL.Query().Get("support"))
	if err != nil {
		return err
	}
	id, err := p.desk.newID()
	if err != nil {
		return err
	}
	page.FormID, page.By, page.Unit = id.String(), recorderOf(r, v), cmp.Or(liked(r, "unit"), string(v.firm.Units), "mm")
	page.Back = p.backOf(r.URL.Query().Get("back"), v, page.Sources.Support)
	if err := p.propose(r, v, &page); err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

// propose fills a form in as far as it is known: by its kind first, then by what the link
// asks for, an earlier record that is done again, corrected or voided.
func (p *pages) propose(r *http.Request, v view, page *web.RecordPage) error {
	page.Values = v.proposed(page.Form.Kind, page.Sources.Support)
	proposeKept(r, page)
	if err := p.proposeByKind(r, v, page); err != nil {
		return err
	}
	if err := p.proposeAgain(r, v, page); err != nil {
		return err
	}
	for _, name := range askedFields[page.Form.Kind] {
		if asked := r.URL.Query()[name]; len(asked) > 0 {
			page.Values[name] = asked
		}
	}
	if err := p.proposeCorrection(r, v, page); err != nil {
		return err
	}
	if page.Form.Kind != events.KindVoid {
		return nil
	}
	return p.proposeVoid(r, v, page)
}

// proposeByKind is what the forms of some kinds begin with.
func (p *pages) proposeByKind(r *http.Request, v view, page *web.RecordPage) error {
	switch page.Form.Kind {
	case events.KindSupportWork:
		proposeStep(r, page)
	case events.KindInstrumentCheck:
		page.Values.Set("sort", page.Form.Sort)
	case events.KindSigned:
		if page.Sources.Support != "" && len(page.Sources.Readings) > 0 {
			page.Values.Set("reading", page.Sources.Readings[0].Value)
		}
	case events.KindPlan:
		proposeGrid(r, v, page)
	case events.KindHandover:
		return p.proposeHandover(r, v, page)
	case events.KindAim:
		practice, err := p.config.Store.FindPractice(r.Context(), v.key.firm)
		if err != nil {
			return err
		}
		proposeAim(r, v, practice, page)
	}
	return nil
}

// askedFields are what a link may fill in: a stop or a finding that is proposed.
var askedFields = map[events.Kind][]string{
	events.KindStop: {"why", "supports"}, events.KindNote: {"answers", "supports"}, events.KindFinding: {"what", "cause", "where", "supports"},
	events.KindTieFreed: {"tie"}, events.KindTieBack: {"tie"}, events.KindInspection: {"who", "stage", "supports"},
	events.KindCondition: {"room"}, events.KindGapReading: {"gap", "what", "near"}, events.KindFloorClosed: {"cut"},
	events.KindChange: {"follows"},
}

// recordPage prepares a form without what was filled in.
func (p *pages) recordPage(r *http.Request, v view, form web.Form, support string) (web.RecordPage, error) {
	form = form.Of(sortOf(r)).In(v.firm.Words.Words())
	page := web.RecordPage{
		Frame: p.frame(r, v, form.Title+", "+v.job.Name), Form: form,
		Sources: web.Sources{Words: v.firm.Words.Words(), Picture: v.picture, People: working(v.people), Recorders: recorders(who(r), working(v.people), form.Kind), Support: support, Now: v.now},
	}
	page.Sources.InOwnName = signedIn(r) != "" && len(page.Sources.Recorders) == 1
	if _, ok := v.picture.Support(support); !ok {
		page.Sources.Support = ""
	}
	page.Sources.With = v.together(r, form, page.Sources.Support)
	v.beside(&page, append([]string{support}, page.Sources.With...))
	page.Instruments = v.instrumentsFor(form.Kind)
	page.Unsafe = !v.picture.Checked && slices.Contains(afterCheck, form.Kind)
	var err error
	switch form.Kind {
	case events.KindAim:
		page.Agreed = agreedProfile(v.picture.Aim)
		page.Sources.Profiles, err = p.firmProfiles(r.Context(), v.key.firm)
	case events.KindJacking:
		page.Sources.Jacks, err = p.config.Store.ListJacks(r.Context(), v.key.firm)
	case events.KindSetup, events.KindInstrumentCheck:
		page.Sources.Lasers, err = p.config.Store.ListLasers(r.Context(), v.key.firm)
	case events.KindSigned, events.KindHandover:
		page.Sources.Readings, err = p.lastReadings(r.Context(), v, support)
	}
	return page, err
}

// beside puts beside a form what is worth knowing of the supports it is about.
func (v view) beside(page *web.RecordPage, ids []string) {
	for _, id := range ids {
		page.Target = append(page.Target, v.facts(page.Form.Kind, id)...)
		if stop := v.stopFor(page.Form.Kind, id); stop != nil {
			s, _ := v.picture.Support(id)
			page.Stops = append(page.Stops, web.StopOf{Support: id, StopAt: stop, Pencil: web.Pencil(s)})
		}
	}
}

// together are the supports that a form names beside the one in hand, to be
// moved or read in one go.
func (v view) together(r *http.Request, form web.Form, support string) (with []string) {
	if support == "" || form.Rows == nil || form.Rows.From != web.FromBearer || r.ParseForm() != nil {
		return nil
	}
	for _, id := range r.Form["with"] {
		if _, known := v.picture.Support(id); known && id != support && !slices.Contains(with, id) {
			with = append(with, id)
		}
	}
	return with
}

// proposed is what a form about a support starts with. It never holds the
// figure somebody expects to read: that would hide misreadings.
func (v view) proposed(kind events.Kind, support string) url.Values {
	values := url.Values{}
	if support != "" {
		values.Set("support", support)
		values.Set("supports", support)
		values.Set("photo-subject", support)
	}
	if kind == events.KindPlan && len(v.picture.Plan.Supports) > 0 {
		if text, err := json.MarshalIndent(v.picture.Plan, "", "  "); err == nil {
			values.Set("document", string(text))
		}
	}
	if kind == events.KindReading || kind == events.KindSetupClosed {
		for _, u := range v.picture.Setups { // the latest that stands
			if !u.Closed {
				values.Set("setup", u.ID.String())
				break
			}
		}
	}
	if kind == events.KindDayEnd {
		values.Set("left", strings.Join(v.leftWords(), "\n"))
	}
	if known := v.picture.Instruments; kind == events.KindInstrumentCheck && len(known) > 0 {
		values.Set("instrument", known[0].Name)
	}
	s, ok := v.picture.Support(support)
	if !ok {
		return values
	}
	switch kind {
	case events.KindReading:
		proposeFace(values, s)
	case events.KindPacking:
		if s.NextKind == events.KindPacking {
			values.Set("sort", string(cmp.Or(s.NextSort, events.Final)))
		}
	}
	return values
}

// leftWords are what the day's end is asked about: the fold's own list.
func (v view) leftWords() (words []string) {
	for _, l := range v.picture.Left {
		if l.Place != jobs.PeopleBelow { // the form asks for them by itself
			words = append(words, l.Place+" "+v.say(l.What))
		}
	}
	return words
}

// stopFor is where the staff stops at the next move. Above a reading it stands
// only while the height is known from one: between a move and its reading the
// figure would rest on what is about to be read.
func (v view) stopFor(kind events.Kind, support string) *jobs.StopAt {
	s, ok := v.picture.Support(support)
	if !ok || kind != events.KindJacking && (kind != events.KindReading || s.Basis != jobs.WasRead || s.Stale) {
		return nil
	}
	return s.Stop
}

// proposeFace offers the face that was read last, and the covering the floor
// was read through: another one would start its heights anew.
func proposeFace(values url.Values, s jobs.Support) {
	last := slices.MaxFunc(append([]jobs.FaceOf{{}}, s.Faces...), func(a, b jobs.FaceOf) int { return a.At.Compare(b.At) })
	if last.Face != "" {
		values.Set("face", string(last.Face))
	}
	for _, f := range s.Faces {
		if f.Surface != "" {
			values.Set("surface", f.Surface)
		}
	}
}

// facts are figures worth having beside a form that moves something. A form for
// readings shows none.
func (v view) facts(kind events.Kind, support string) []web.Fact {
	s, ok := v.picture.Support(support)
	if !ok || kind != events.KindJacking && kind != events.KindPacking && kind != events.KindJackDown && kind != events.KindSigned {
		return nil
	}
	var facts []web.Fact
	if s.Remaining != nil {
		facts = append(facts, web.Fact{Name: s.ID + " to go", Value: v.firm.Units.ShowSigned(s.Remaining.MM)})
	}
	if kind == events.KindSigned {
		for _, missing := range s.Missing {
			facts = append(facts, web.Fact{Name: "Missing", Value: missing})
		}
	}
	return facts
}

// proposeVoid says which line of the book is to be voided.
func (p *pages) proposeVoid(r *http.Request, v view, page *web.RecordPage) error {
	id, err := events.ParseID(r.URL.Query().Get("event"))
	if err != nil {
		return refuse(http.StatusNotFound, "Choose the line to void in the book.")
	}
	line, _ := strconv.ParseInt(r.URL.Query().Get("line"), 10, 64)
	stored, err := p.config.Log.Read(r.Context(), v.key.firm, v.key.job, max(0, line-1), 1)
	if err != nil {
		return fmt.Errorf("read the book: %w", err)
	}
	if len(stored) == 0 || stored[0].ID != id {
		return refuse(http.StatusNotFound, "Choose the line to void in the book.")
	}
	lines, err := p.bookOf(r.Context(), v, stored)
	if err != nil {
		return err
	}
	l := lines[0]
	page.Target = []web.Fact{{Name: fmt.Sprintf("Line %d, %s %s", l.Seq, l.Day, l.Time), Value: strings.TrimSpace(l.What + " " + strings.Join(l.Points, ", "))}}
	if l.Staff != nil {
		page.Target = append(page.Target, web.Fact{Name: v.say("Staff"), Value: v.firm.Units.ShowFine(*l.Staff)})
	}
	if l.Text != "" {
		page.Target = append(page.Target, web.Fact{Name: l.Text})
	}
	page.Values.Set("event", id.String())
	err = p.states.use(r.Context(), v.key, func(state *jobs.State) { page.Resting = state.Resting(id) })
	if r.URL.Query().Get("back") == "" {
		page.Back = v.bookLine(l.Seq)
	}
	return err
}

// backOf is where a form leads back to: a page of the same job, whatever the
// address says.
func (p *pages) backOf(wanted string, v view, support string) string {
	u, err := url.Parse(wanted)
	if err == nil && u.Host == "" && u.Scheme == "" && (u.Path == v.base() || strings.HasPrefix(u.Path, v.base()+"/")) {
		return u.RequestURI()
	}
	if support != "" {
		return v.base() + "/supports/" + pathEscape(support)
	}
	return v.base()
}
