package server

import (
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// getConditionPage is GET /jobs/{job}/condition: what each room was like before
// the first lift, and how its cracks have gone since.
func (p *pages) getConditionPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	page := web.ConditionPage{Frame: p.frame(r, v, "Condition, "+v.job.Name), Around: v.around("/condition"), Printed: v.now.Format("2 January 2006")}
	page.Live = v.live()
	for _, step := range v.picture.Steps {
		page.Begun = page.Begun || step.Name == "rounds" && step.Begun
	}
	for _, room := range v.picture.RoomRecords(entries) {
		if room.Room != "" && len(room.Written) == 0 {
			page.Lacking = append(page.Lacking, room.Room)
		}
		page.Rooms = append(page.Rooms, v.conditionRoom(room))
	}
	return show(w, http.StatusOK, page)
}

func (v view) conditionRoom(room jobs.RoomRecord) web.ConditionRoom {
	out := web.ConditionRoom{Name: room.Room, Record: v.backTo(events.KindCondition, "/condition", "room", room.Room)}
	for _, e := range room.Written {
		b := e.Body.(*events.Condition)
		note := web.ConditionNote{Present: b.Present, When: v.said(e), Book: v.bookLine(e.Seq), Photos: v.printsOf(e)}
		for _, f := range []web.Fact{{Name: "Walls", Value: b.Walls}, {Name: "Ceiling", Value: b.Ceiling}, {Name: "Doors", Value: b.Doors},
			{Name: "Windows", Value: b.Windows}, {Name: "Tiles", Value: b.Tiles}, {Name: "Outside", Value: b.Outside}} {
			if f.Value != "" {
				note.Facts = append(note.Facts, f)
			}
		}
		out.Written = append(out.Written, note)
	}
	for _, g := range room.Gaps {
		out.Gaps = append(out.Gaps, v.gapRecord(g))
	}
	return out
}

// width writes how wide a gap is.
func (v view) width(mm float64) string { return v.firm.Units.ShowLimit(mm) + v.firm.Units.Word() }

// gapRecord is one gap with its readings, drawn against its limit.
func (v view) gapRecord(g jobs.WatchedGap) web.GapRecord {
	out := web.GapRecord{Name: g.Name, What: g.What, Line: svg(drawing.GapLine(g, v.zone, v.firm.Units)),
		Record: v.backTo(events.KindGapReading, "/condition", "gap", g.Name, "what", g.What, "near", g.Near)}
	if g.LimitMM != nil {
		out.Limit = v.width(*g.LimitMM)
	}
	var entries []jobs.Entry
	for _, r := range g.Readings {
		out.Readings = append(out.Readings, web.Fact{Name: v.said(r.Entry), Value: v.width(r.MM)})
		out.Past = g.LimitMM != nil && r.MM > *g.LimitMM
		entries = append(entries, r.Entry)
	}
	out.Photos = v.printsOf(entries...)
	return out
}
