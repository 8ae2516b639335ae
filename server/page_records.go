package server

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// mostPhotos is how many photos one page of the records shows.
const mostPhotos = 80

// getRecordsPage is GET /jobs/{job}/records?before=: what was recorded, by kind,
// what is open first, and the photos by what they are of.
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
		{"Under the floor", events.KindUnderFloor, l.UnderFloor},
		{"Cracks and gaps", events.KindGapReading, l.Gaps},
		{"Condition of the rooms", events.KindCondition, l.Conditions},
		{"Safety checks", events.KindSafetyCheck, l.Safety},
		{"Checks of instruments", events.KindInstrumentCheck, l.Checks},
		{"Inspections", events.KindInspection, l.Inspections},
		{"Agreed changes", events.KindChange, l.Changes},
		{"Incidents", events.KindIncident, l.Incidents},
		{"Differences by water level", events.KindDifference, l.Differences},
		{"Ends of days", events.KindDayEnd, l.Days},
		{"Hand-over", events.KindHandover, l.Handovers},
		{"Notes", events.KindNote, l.Notes},
	} {
		form, _ := web.FormOf(group.kind)
		page.Groups = append(page.Groups, web.RecordGroup{
			Title: v.say(group.title), Verb: v.say(form.Verb), Href: v.base() + "/record/" + string(group.kind), Lines: v.recordLines(group.items),
		})
	}
	before, ok := place(r, "before")
	if !ok || before > v.picture.Seq {
		before = v.picture.Seq + 1
	}
	var earliest int64
	if page.Photos, earliest, err = p.photosBefore(r.Context(), v, before); err != nil {
		return err
	}
	if earliest > 1 {
		page.Earlier = v.base() + "/records?" + url.Values{"before": {strconv.FormatInt(earliest, 10)}}.Encode() + "#photos"
	}
	return show(w, http.StatusOK, page)
}

// photosBefore are the last photos before a number of the book, by what they are
// of, and the number of the earliest event looked at.
func (p *pages) photosBefore(ctx context.Context, v view, before int64) (groups []web.PhotoGroup, earliest int64, err error) {
	place, count := map[string]int{}, 0
	earliest, err = p.lookBack(ctx, v.key, before, func(stored []events.Stored) (bool, error) {
		for _, e := range slices.Backward(stored) {
			for i, photo := range photosOf(e) {
				subject := e.Files[i].Subject
				at, known := place[subject]
				if !known {
					at = len(groups)
					place[subject] = at
					groups = append(groups, web.PhotoGroup{Of: subject})
				}
				photo.Line = v.base() + "/book?at=" + strconv.FormatInt(e.Seq, 10) + "#n" + strconv.FormatInt(e.Seq, 10)
				photo.When = web.When(e.At.In(v.zone), v.now)
				groups[at].Photos = append(groups[at].Photos, photo)
				count++
			}
		}
		return count >= mostPhotos, nil
	})
	return groups, earliest, err
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
		if !it.Open {
			stops[i].Name = ""
			continue
		}
		stops[i].Name, stops[i].Text = "", it.Text+"; go-ahead by "+it.Name
	}
	return stops
}
