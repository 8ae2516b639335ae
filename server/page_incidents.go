package server

import (
	"cmp"
	"net/http"
	"slices"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getIncidentsPage is GET /jobs/{job}/incidents.
func (p *pages) getIncidentsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	page := web.RegisterPage{
		Heading: "Incidents", Begin: "None is recorded: an injury, a near miss, a broken pipe or cable, something dropped.",
		Acts: []web.Action{{Verb: "Record an incident", Href: v.backTo(events.KindIncident, "/incidents")}},
	}
	part := web.RegisterPart{Columns: []string{"Where", "Who", "What was done"}}
	for _, e := range slices.Backward(jobs.Counting(entries)) {
		b, is := e.Body.(*events.Incident)
		if !is {
			continue
		}
		line := v.registerLine(b.What, e, web.RegisterCell{Of: "where", Text: b.Where}, web.RegisterCell{Of: "who", Text: b.Who},
			web.RegisterCell{Of: "what was done", Text: cmp.Or(b.Done, "nobody said"), Danger: b.Done == ""})
		line.Open = b.Done == ""
		part.Lines = append(part.Lines, line)
	}
	page.Parts = []web.RegisterPart{part}
	return p.showRegister(w, r, v, page, "/incidents")
}
