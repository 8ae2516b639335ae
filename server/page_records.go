package server

import (
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getRecordsPage is GET /jobs/{job}/records: what was recorded, by kind, what is
// open first.
func (p *pages) getRecordsPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page := web.RecordsPage{Frame: p.frame(r, v, "Records of "+v.job.Name)}
	page.Live = v.live()
	l := v.picture.Lists
	for _, group := range []struct {
		title string
		kind  events.Kind
		items []jobs.Item
	}{
		{"Stops", events.KindStop, askedOf(l.Stops)},
		{"Findings", events.KindFinding, l.Findings},
		{"Ties", events.KindTie, l.Ties},
		{"Floor cuts", events.KindFloorCut, l.Cuts},
		{"Cracks and gaps", events.KindGapReading, l.Gaps},
		{"Condition of the rooms", events.KindCondition, l.Conditions},
		{"Safety checks", events.KindSafetyCheck, l.Safety},
		{"Inspections", events.KindInspection, l.Inspections},
		{"Changes", events.KindChange, l.Changes},
		{"Incidents", events.KindIncident, l.Incidents},
		{"Differences by water level", events.KindDifference, l.Differences},
		{"Ends of days", events.KindDayEnd, l.Days},
		{"Hand-over", events.KindHandover, l.Handovers},
		{"Notes", events.KindNote, l.Notes},
	} {
		form, _ := web.FormOf(group.kind)
		page.Groups = append(page.Groups, web.RecordGroup{
			Title: group.title, Verb: form.Verb, Href: v.base() + "/record/" + string(group.kind), Lines: v.recordLines(group.items),
		})
	}
	return show(w, http.StatusOK, page)
}

// recordLines puts what is open first, and the latest before the earlier.
func (v view) recordLines(items []jobs.Item) (lines []web.RecordLine) {
	var closed []web.RecordLine
	for i := len(items) - 1; i >= 0; i-- {
		it := items[i]
		line := web.RecordLine{Item: it, When: web.When(it.At.In(v.zone), v.now), By: v.names[it.By]}
		if it.Open {
			lines = append(lines, line)
		} else {
			closed = append(closed, line)
		}
	}
	return append(lines, closed...)
}

// askedOf writes out whom a stop waits for, which other lists keep as a name.
func askedOf(stops []jobs.Item) []jobs.Item {
	for i, it := range stops {
		stops[i].Name, stops[i].Text = "", it.Text+"; go-ahead by "+it.Name
	}
	return stops
}
