package server

import (
	"context"
	"net/http"
	"net/url"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// jobRoutes are the pages on which the office goes through a job.
func (p *pages) jobRoutes(own firmRoutes) {
	own.get("/jobs/{job}/ties", p.getTiesPage)
	own.get("/jobs/{job}/inspections", p.getInspectionsPage)
	own.get("/jobs/{job}/safety", p.getSafetyPage)
	own.get("/jobs/{job}/incidents", p.getIncidentsPage)
	own.get("/jobs/{job}/below", p.getBelowPage)
	own.get("/jobs/{job}/photos", p.getPhotosPage)
	own.get("/jobs/{job}/photos/{seq}/{no}", p.getShotPage)
	own.get("/jobs/{job}/handover", p.getHandoverPage)
	own.get("/jobs/{job}/offer", p.getOfferPage)
	own.get("/jobs/{job}/crew-sheet", p.getCrewSheetPage)
	own.get("/jobs/{job}/condition", p.getConditionPage)
	own.get("/jobs/{job}/schedule", p.getSchedulePage)
	own.get("/jobs/{job}/schedule.csv", p.getScheduleCSV)
}

// entries are all records of a job, opened.
func (p *pages) entries(ctx context.Context, v view) ([]jobs.Entry, error) {
	opened, err := p.opened.upTo(ctx, v.key, v.picture.Seq)
	if err != nil {
		return nil, err
	}
	out := make([]jobs.Entry, len(opened))
	err = p.states.useIn(ctx, v.key, v.firm, func(state *jobs.State) {
		for i, e := range opened {
			out[i] = state.Entry(e)
		}
	})
	return out, err
}

// stepPages are the pages about each step of a job, in the order of its steps.
// A page stands at the step for which it is opened first.
var stepPages = []struct {
	step  string
	pages []web.WayPage
}{
	{"survey", []web.WayPage{{Words: "Lines", Href: "/lines"}, {Words: "Shading", Href: "/shading"}, {Words: "Schedule to price from", Href: "/schedule"}}},
	{"agree", []web.WayPage{{Words: "What level enough costs", Href: "/choices"}, {Words: "What is agreed", Href: "/offer"}, {Words: "Agreed changes", Href: "/changes"}}},
	{"condition record", []web.WayPage{{Words: "Condition", Href: "/condition"}}},
	{"make safe, free ties", []web.WayPage{{Words: "Safety and days", Href: "/safety"}, {Words: "Ties", Href: "/ties"}, {Words: "Stops", Href: "/stops"}, {Words: "Incidents", Href: "/incidents"}}},
	{"cause", []web.WayPage{{Words: "Under the floor", Href: "/below"}, {Words: "Findings", Href: "/findings"}}},
	{"new supports carry", []web.WayPage{{Words: "Inspections", Href: "/inspections"}}},
	{"rounds", []web.WayPage{{Words: "What to move next", Href: "/moves"}, {Words: "Sheet for the crew", Href: "/crew-sheet"}}},
	{"sign", []web.WayPage{{Words: "Photos", Href: "/photos"}, {Words: "Records", Href: "/records"}}},
	{"hand over", []web.WayPage{{Words: "Hand-over", Href: "/handover"}, {Words: "As the owner sees it", Href: "/owner"}, {Words: "Pack for the owner", Href: "/pack"}, {Words: "Owner’s links", Href: "/shares"}, {Words: "What was signed", Href: "/checkpoint"}}},
}

// around is the way around a job, from its page called here, such as "/ties".
func (v view) around(here string) web.Around {
	done := map[string]bool{}
	for _, s := range v.picture.Steps {
		done[s.Name] = s.Done
	}
	var out web.Around
	for _, s := range stepPages {
		way := web.Way{Step: s.step, Done: done[s.step]}
		for _, page := range s.pages {
			way.Pages = append(way.Pages, web.WayPage{Words: v.say(page.Words), Href: v.base() + page.Href, Now: page.Href == here})
		}
		out.Ways = append(out.Ways, way)
	}
	return out
}

// said is when and by whom something was recorded.
func (v view) said(e jobs.Entry) string {
	words := web.When(e.At.In(v.zone), v.now)
	if name := v.names[e.By]; name != "" {
		words += ", " + name
	}
	return words
}

// backTo adds to the address of a form that it leads back to a page of the job.
func (v view) backTo(form events.Kind, page string, more ...string) string {
	return withQuery(v.base()+"/record/"+string(form), append([]string{"back", v.base() + page}, more...)...)
}

// withQuery adds pairs of names and values to an address.
func withQuery(path string, pairs ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		q.Add(pairs[i], pairs[i+1])
	}
	return path + "?" + q.Encode()
}

// registerLine is what every line of a register has: its date, its place in the
// book, its photos.
func (v view) registerLine(name string, e jobs.Entry, cells ...web.RegisterCell) web.RegisterLine {
	return web.RegisterLine{Name: name, Cells: cells, When: v.said(e), Book: v.bookLine(e.Seq), No: e.Seq, Photos: v.printsOf(e)}
}

// printsOf are the photos and sounds of a record; a photo opens on a page of its
// own.
func (v view) printsOf(entries ...jobs.Entry) []web.Photo {
	var out []web.Photo
	for _, shot := range jobs.Shots(entries) {
		out = append(out, v.printOf(shot))
	}
	return out
}

// showRegister shows a register, or the way in while there is none.
func (p *pages) showRegister(w http.ResponseWriter, r *http.Request, v view, page web.RegisterPage, here string) error {
	page.Frame, page.Around = p.frame(r, v, page.Heading+", "+v.job.Name), v.around(here)
	page.Live = v.live()
	return show(w, http.StatusOK, page)
}
