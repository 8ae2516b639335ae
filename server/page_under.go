package server

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getBelowPage is GET /jobs/{job}/below: what the space under the floor is like,
// as it was said last, and every look at it.
func (p *pages) getBelowPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	page := web.BelowPage{Picture: v.picture}
	page.RegisterPage = web.RegisterPage{
		Heading: v.say("Under the floor"), Begin: "Nobody has recorded what it is like below: the ground, the room to the timber, the vents, how wet the timber is.",
		Acts: []web.Action{{Verb: v.say("Look under the floor"), Href: v.backTo(events.KindUnderFloor, "/below")}},
	}
	part := web.RegisterPart{Title: "Every look", Columns: []string{"Room to the timber", "Moisture", "Vents", "Note"}}
	for _, e := range slices.Backward(jobs.Counting(entries)) {
		if b, is := e.Body.(*events.UnderFloor); is {
			part.Lines = append(part.Lines, v.lookLine(e, b))
		}
	}
	page.Parts = []web.RegisterPart{part}
	page.Frame, page.Around = p.frame(r, v, page.Heading+", "+v.job.Name), v.around("/below")
	page.Live = v.live()
	return show(w, http.StatusOK, page)
}

// lookLine is one look under the floor.
func (v view) lookLine(e jobs.Entry, b *events.UnderFloor) web.RegisterLine {
	room, vents := "", ""
	if b.ClearanceMM > 0 {
		room = v.firm.Units.ShowWith(b.ClearanceMM)
	}
	if b.Airing != nil && len(b.Airing.VentsMM2) > 0 {
		vents = count(len(b.Airing.VentsMM2), "vent", "vents")
	}
	var wet []string
	for _, m := range b.Moisture {
		wet = append(wet, fmt.Sprintf("%s %g %%", joined(" ", m.Support, m.Where), m.Pct))
	}
	return v.registerLine(cmp.Or(b.Ground, "the ground: not said"), e, web.RegisterCell{Of: "room to the timber", Text: room},
		web.RegisterCell{Of: "moisture", Text: strings.Join(wet, ", ")}, web.RegisterCell{Of: "vents", Text: vents}, web.RegisterCell{Of: "note", Text: b.Note})
}
