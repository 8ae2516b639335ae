package server

import (
	"net/http"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getInspectionsPage is GET /jobs/{job}/inspections: who came at which stage, what
// they said, and what waits for one.
func (p *pages) getInspectionsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	page := web.RegisterPage{
		Heading: "Inspections", Begin: "No inspection is recorded. Holes are usually seen before they are filled; the local code says what else is.",
		Acts: []web.Action{{Verb: "Record an inspection", Href: v.backTo(events.KindInspection, "/inspections")}},
	}
	var holes []string
	if err := p.states.use(r.Context(), v.key, func(state *jobs.State) { holes = state.HolesToBeSeen() }); err != nil {
		return err
	}
	if len(holes) > 0 {
		page.Warn = append(page.Warn, "The "+v.firm.Words.Words().Inspector+" has not passed the holes at "+strings.Join(holes, ", ")+": concrete waits for that.")
	}
	part := web.RegisterPart{Columns: []string{"Stage", "At", "Answer"}}
	for _, one := range jobs.Inspections(entries) {
		line := v.registerLine(one.Who, one.Entry,
			web.RegisterCell{Of: "stage", Text: one.Stage},
			web.RegisterCell{Of: "at", Text: strings.Join(one.Supports, ", ")},
			web.RegisterCell{Of: "answer", Text: joined("; ", one.Answer, one.Note), Danger: one.Waiting})
		if line.Open = one.Waiting; one.Waiting {
			line.Do = web.Action{Verb: "It was seen again", Href: v.backTo(events.KindInspection, "/inspections", "who", one.Who, "stage", one.Stage)}
		}
		part.Lines = append(part.Lines, line)
	}
	page.Parts = []web.RegisterPart{part}
	return p.showRegister(w, r, v, page, "/inspections")
}
