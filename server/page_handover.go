package server

import (
	"cmp"
	"net/http"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getHandoverPage is GET /jobs/{job}/handover.
func (p *pages) getHandoverPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	page := web.HandoverPage{
		Frame: p.frame(r, v, "Hand-over, "+v.job.Name), Around: v.around("/handover"), Picture: v.picture, Begins: v.picture.Giving(entries, v.now, v.firm.Words.Words()),
		Record: v.backTo(events.KindHandover, "/handover"), Printed: v.now.Format("2 January 2006"),
	}
	page.Live = v.live()
	read := map[events.ID]jobs.Entry{}
	for _, e := range jobs.Counting(entries) {
		switch b := e.Body.(type) {
		case *events.Reading:
			read[e.ID] = e
		case *events.Handover:
			page.Done = slices.Insert(page.Done, 0, v.handed(e, b, read))
			page.Visits = v.visitLines(jobs.Visits(b.ComeBack, entries, e.At, v.now))
		}
	}
	return show(w, http.StatusOK, page)
}

// handed is one hand-over in words, with what was read at the places that the
// owner picked.
func (v view) handed(e jobs.Entry, b *events.Handover, read map[events.ID]jobs.Entry) web.Handed {
	out := web.Handed{When: v.said(e), Book: v.bookLine(e.Seq), Photos: v.printsOf(e)}
	for _, f := range []web.Fact{{Name: "On", Value: jobs.DayWords(b.Date)}, {Name: "Present", Value: b.Present}, {Name: "Left out", Value: cmp.Or(b.LeftOut, "nothing")},
		{Name: "Ties not back", Value: cmp.Or(strings.Join(b.TiesNotBack, ", "), "none")}, {Name: "Papers", Value: b.Papers}, {Name: "Care", Value: b.Care}} {
		if f.Value != "" {
			out.Facts = append(out.Facts, f)
		}
	}
	for _, place := range b.OwnersPlaces {
		words := "its reading is not in the book, or does not count"
		if at, known := read[place.Reading]; known && at.MM != nil {
			words = v.firm.Units.ShowWith(*at.MM) + ", read " + web.When(at.At.In(v.zone), v.now)
		}
		out.Places = append(out.Places, web.Fact{Name: place.Point, Value: words})
	}
	return out
}

// visitLines say of each visit whether it was kept.
func (v view) visitLines(visits []jobs.Visit) (lines []web.VisitLine) {
	for _, one := range visits {
		line := web.VisitLine{On: jobs.DayWords(one.On), Due: one.Due, Words: "to come"}
		switch {
		case one.Kept != "":
			line.Words = "read on " + jobs.DayWords(one.Kept)
		case one.Due:
			line.Words = "nothing was read for it"
		}
		lines = append(lines, line)
	}
	return lines
}

// proposeHandover starts the form from the record. The places are the owner's to
// pick, and are read while they look on.
func (p *pages) proposeHandover(r *http.Request, v view, page *web.RecordPage) error {
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	g := v.picture.Giving(entries, v.now, v.firm.Words.Words())
	page.Values.Set("date", v.now.Format(time.DateOnly))
	page.Values.Set("left_out", strings.Join(g.LeftOut, "\n"))
	page.Values.Set("ties_not_back", strings.Join(g.TiesNotBack, ", "))
	page.Values.Set("papers", strings.Join(g.Papers, "; "))
	page.Values.Set("care", strings.Join(g.Care, "\n"))
	page.Values.Set("come_back", strings.Join(g.ComeBack, ", "))
	return nil
}
