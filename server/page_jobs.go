package server

import (
	"net/http"

	"relevel/events"
	"relevel/server/drawing"
	"relevel/server/web"
)

// smallPlans is how many jobs of the list, the newest, are drawn.
const smallPlans = 24

// getJobsPage is GET /.
func (p *pages) getJobsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	f, err := p.config.Store.FindFirm(r.Context(), firm)
	if err != nil {
		return err
	}
	list, err := p.listJobs(r, firm)
	if err != nil {
		return err
	}
	crews, err := p.config.Store.ListCrews(r.Context(), firm)
	if err != nil {
		return err
	}
	names := map[events.ID]string{}
	for _, c := range crews {
		names[c.ID] = c.Name
	}
	page := web.JobsPage{Frame: web.Frame{Title: "Jobs", Firm: f.Name, Words: f.Words.Words()}}
	for i, j := range list {
		line := web.JobLine{Job: j.Job, Brief: j.Brief, Crew: names[j.Crew]}
		if j.Brief != nil && !j.Brief.LastAt.IsZero() {
			zone := zoneOf(j.Job)
			line.Last = web.When(j.Brief.LastAt.In(zone), p.config.Now().In(zone))
		}
		if i < smallPlans {
			picture, err := p.states.picture(r.Context(), jobKey{firm, j.ID}, p.config.Now())
			if err != nil {
				return err
			}
			line.Small = svg(drawing.Small(picture))
			line.Brief = &picture.Brief
		}
		page.Jobs = append(page.Jobs, line)
	}
	return show(w, http.StatusOK, page)
}
