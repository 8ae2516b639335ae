package server

import (
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// getCrewSheetPage is GET /jobs/{job}/crew-sheet: the round under way and the list
// for the saw, to be printed and written on.
func (p *pages) getCrewSheetPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	practice, err := p.config.Store.FindPractice(r.Context(), firm)
	if err != nil {
		return err
	}
	page := web.CrewSheetPage{
		Frame: p.frame(r, v, "Sheet for the crew, "+v.job.Name), Around: v.around("/crew-sheet"), Picture: v.picture,
		Stands: anySetup(v.picture), Printed: v.now.Format(web.Day + " 2006 " + web.Clock),
	}
	page.Live = v.live()
	err = p.states.useIn(r.Context(), v.key, v.firm, func(state *jobs.State) { page.Packers = state.CuttingList(practice.Packers(), v.now) })
	if err != nil {
		return err
	}
	o := v.options(turnOf(w, r, v))
	o.Link = nil
	if plan := v.picture.Rounds; plan != nil {
		for _, batch := range batches(plan.Moves) {
			page.Batches = append(page.Batches, v.batch(batch, nil))
		}
		page.Later, page.Waits = web.LaterRounds(plan.Later, v.picture.Aim.Agreed.DailyMM > 0), web.Rests(plan)
		page.Setup, o.Round = v.setupOf(plan.Moves), drawing.RoundOf(plan)
	}
	if len(v.picture.Supports) > 0 {
		page.Floor = svg(drawing.Floor(v.picture, o))
	}
	return show(w, http.StatusOK, page)
}

// setupOf says on which standing of the laser the stop figures hold; on another
// they are wrong.
func (v view) setupOf(moves []jobs.NextMove) string {
	for _, m := range moves {
		if m.Stop == nil {
			continue
		}
		for _, u := range v.picture.Setups {
			if u.ID == m.Stop.Setup {
				return u.Instrument + ", set up " + web.When(u.At, v.now)
			}
		}
	}
	return ""
}
