package server

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
	"relevel/levelling"
	"relevel/server/drawing"
	"relevel/server/web"
)

// shownTo is for whom an owner's page is made: whose frame stands around it, and
// where what it leads to lies.
type shownTo struct {
	about answers.About
	frame web.Frame
	turn  int // of its drawings, in quarters

	// photo is where a photo of the job lies, 320 or 1600 px wide.
	photo func(of events.Digest, px int) string
	// proofs lead to what there is to take away and to check.
	proofs []web.Action
}

// ownerPage is the owner's page of a job as it stands in a state and the entries of
// its book, which have to be of the same events: an owner who is shown a job up to
// some record is shown a state that was folded up to it. It reads nothing else, and
// has the state speak the firm's unit.
func ownerPage(state *jobs.State, entries []jobs.Entry, to shownTo) web.OwnerPage {
	a := answers.Of(state, entries, to.about)
	page := web.OwnerPage{Frame: to.frame, Account: a, Proofs: to.proofs, Printed: to.about.Now.In(to.about.Zone).Format(web.LongDay)}
	if !a.AsOf.IsZero() {
		page.State = fmt.Sprintf("%s, record %d", a.AsOf.Format(web.LongDay), a.Seq)
	}
	for _, an := range a.Answers {
		page.Sections = append(page.Sections, ownerSection(an))
	}
	for _, pair := range a.Pairs {
		page.Sheets = append(page.Sheets, web.PairSheet{Words: pair.Words, Before: to.print(pair.Before), After: to.print(pair.After)})
	}
	for _, row := range a.Supports {
		page.Supports = append(page.Supports, ownerSupport(row, a.Units))
	}
	o := drawing.Options{Units: a.Units, Turn: to.turn, Words: to.about.Firm.Words.Words(), Plain: true}
	picture := state.Picture(to.about.Now)
	page.Drawn = []web.DrawnPair{linesOfOwner(picture, o), mapsOfOwner(picture, a.Floor, o)}
	page.Times = timesOf(a)
	return page
}

func ownerSection(an answers.Answer) web.OwnerSection {
	s := web.OwnerSection{Answer: an}
	for _, f := range an.Facts {
		s.Facts = append(s.Facts, web.OwnerFact{Name: f.Name, Value: f.Value, Lines: lineNumbers(f.Lines)})
	}
	return s
}

// mostRecords is how many of their numbers stand beside a figure.
const mostRecords = 6

// lineNumbers writes the numbers of records, the first and the last where there are
// many.
func lineNumbers(lines []int64) string {
	if len(lines) > mostRecords {
		return fmt.Sprintf("%d to %d, %d of them", slices.Min(lines), slices.Max(lines), len(lines))
	}
	words := make([]string, len(lines))
	for i, n := range lines {
		words[i] = strconv.FormatInt(n, 10)
	}
	return strings.Join(words, ", ")
}

func (to shownTo) print(p answers.Print) web.OwnerPrint {
	return web.OwnerPrint{Small: to.photo(p.SHA256, 320), Full: to.photo(p.SHA256, 1600), Alt: p.Alt, When: p.Taken.Format(web.LongDay)}
}

// ownerSupport is one line of the table of all supports.
func ownerSupport(r answers.SupportRow, u levelling.Unit) web.OwnerSupport {
	out := web.OwnerSupport{ID: r.ID, Packer: joined("; ", r.Packer, r.Work), State: joined(": ", r.State, r.LeftOutBecause), Reckoned: !r.AfterRead}
	if r.AsFound != nil {
		out.Before = u.ShowWith(r.AsFound.MM)
	}
	if r.Target != nil {
		out.Agreed = u.ShowWith(*r.Target)
	}
	if r.After != nil {
		out.Now = u.ShowWith(r.After.MM)
	}
	if mm, known := r.Lift(); known {
		out.CameUp = u.ShowWith(mm)
	}
	if r.Who != "" {
		out.Signed = r.Who + ", " + r.When.Format(web.LongDay)
	}
	return out
}

// linesOfOwner are the lines along the bearers before and now, on one scale.
func linesOfOwner(p jobs.Picture, o drawing.Options) web.DrawnPair {
	const name = "The floor along its lines"
	before := drawing.At(p, drawing.AsFound)
	switch {
	case !anyHeight(p) || !anyHeight(before):
		return web.DrawnPair{Name: name, Note: "The floor was not measured both before and after the work, so that there are no lines to compare."}
	case len(p.Plan.Bearers) == 0:
		return web.DrawnPair{Name: name, Note: "No drawing of the floor was recorded, so that there are no lines to compare."}
	}
	o.Lines = drawing.ScaleOf(o.Turn, before, p)
	return web.DrawnPair{
		Name: name, Before: svg(drawing.StringLines(before, o)), After: svg(drawing.StringLines(p, o)),
		Note: "Each line is the floor along one " + o.Words.Bearer + ", seen from the side and drawn in its place on the plan. Heights are drawn much larger than they are, in both drawings alike. A number with + says how far a " + o.Words.Support + " had still to come up, one with − how far it stands above the agreed height.",
	}
}

// mapsOfOwner are the maps of the floor before and now, on one scale, of those places
// alone that may be compared.
func mapsOfOwner(p jobs.Picture, f answers.Floor, o drawing.Options) web.DrawnPair {
	const name = "Maps of the floor"
	if !f.Comparable {
		return web.DrawnPair{Name: name, Note: f.Say}
	}
	p = comparedOnly(p, f.Compared)
	o.Darkest = drawing.Furthest(p)
	return web.DrawnPair{
		Name: name, Before: svg(drawing.Shading(p, drawing.AsFound, o)), After: svg(drawing.Shading(p, drawing.Now, o)),
		Note: "The darker, the lower. " + f.Say,
	}
}

// comparedOnly is a picture that knows of the compared places alone, by their floor,
// and of no target: what is drawn of it before and now hangs on one height.
func comparedOnly(p jobs.Picture, c jobs.Compared) jobs.Picture {
	floor := []jobs.FaceOf{{Face: events.FloorFace, Surface: c.Surface}}
	p.Aim = nil
	p.Supports, p.Spots = slices.Clone(p.Supports), slices.Clone(p.Spots)
	at := map[string]jobs.ComparedPlace{}
	for _, one := range c.Places {
		at[one.ID] = one
	}
	for i := range p.Supports {
		s := &p.Supports[i]
		s.Survey, s.AsFound, s.Present, s.Target, s.Remaining, s.Faces = nil, nil, nil, nil, nil, floor
		if one, known := at[s.ID]; known {
			s.AsFound, s.Present, s.Basis, s.Stale = &one.Before, &one.Now, jobs.WasRead, false
		}
	}
	for i := range p.Spots {
		s := &p.Spots[i]
		s.Survey, s.AsFound, s.Present, s.Faces = nil, nil, nil, floor
		if one, known := at[s.ID]; known {
			s.AsFound, s.Present, s.Basis = &one.Before, &one.Now, jobs.WasRead
		}
	}
	return p
}

// timesOf are the time lines of the places that were read on two days or more, on one
// scale, what moves first.
func timesOf(a answers.Account) (out []web.TimeSheet) {
	var again []answers.Track
	var tracks []jobs.Track
	for _, one := range a.Then {
		if len(one.Reads) > 1 {
			again, tracks = append(again, one), append(tracks, one.Track)
		}
	}
	slices.SortStableFunc(again, func(a, b answers.Track) int {
		switch {
		case a.IsMoving() == b.IsMoving():
			return 0
		case a.IsMoving():
			return -1
		}
		return 1
	})
	scale := drawing.TimeScaleOf(tracks)
	for _, one := range again {
		out = append(out, web.TimeSheet{Place: one.Place, Moving: one.IsMoving(), SVG: svg(drawing.TimeLine(one.Track, one.Say, scale, a.Units))})
	}
	return out
}

// getOwnerPreview is GET /jobs/{job}/owner: the office looks at what the owner sees.
func (p *pages) getOwnerPreview(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	here, err := p.photosHere(r.Context(), v)
	if err != nil {
		return err
	}
	to := v.toldTo(here)
	to.frame, to.turn = p.frame(r, v, v.job.Name+", as the owner sees it"), turnOf(w, r, v)
	to.photo = func(of events.Digest, px int) string {
		return "/api/v1/photos/" + of.String() + "?size=" + strconv.Itoa(px)
	}
	var page web.OwnerPage
	var unread error
	err = p.states.useIn(r.Context(), v.key, v.firm, func(state *jobs.State) {
		opened, err := p.opened.upTo(r.Context(), v.key, state.Seq())
		if err != nil {
			unread = err
			return
		}
		page = ownerPage(state, entriesOf(state, opened), to)
	})
	if err = cmp.Or(err, unread); err != nil {
		return err
	}
	page.Preview = "This is the page as the owner sees it. Nothing on it leads into the office."
	return show(w, http.StatusOK, page)
}

// toldTo is what an owner's page needs to know of a job beside its records, of whose
// photos some are here.
func (v view) toldTo(here map[events.Digest]bool) shownTo {
	return shownTo{about: answers.About{Job: v.job, Firm: v.firm, Names: v.names, Zone: v.zone, Now: v.now, Has: func(photo events.Digest) bool { return here[photo] }}}
}

// photosHere are the photos of a job that the server has.
func (p *pages) photosHere(ctx context.Context, v view) (map[events.Digest]bool, error) {
	opened, err := p.opened.upTo(ctx, v.key, v.picture.Seq)
	if err != nil {
		return nil, err
	}
	var shots []jobs.Shot
	for _, e := range opened {
		for _, f := range e.Files {
			shots = append(shots, jobs.Shot{File: f})
		}
	}
	return p.arrived(ctx, v, shots)
}

func entriesOf(state *jobs.State, opened []jobs.Opened) []jobs.Entry {
	out := make([]jobs.Entry, len(opened))
	for i, e := range opened {
		out[i] = state.Entry(e)
	}
	return out
}
