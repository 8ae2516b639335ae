package server

import (
	"net/http"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getPackersPage is GET /jobs/{job}/packers: the list for the saw, of what can be
// cut now, from the firm's stock.
func (p *pages) getPackersPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	practice, err := p.config.Store.FindPractice(r.Context(), firm)
	if err != nil {
		return err
	}
	page := web.PackersPage{Frame: p.frame(r, v, v.say("Packers to cut, ")+v.job.Name), Stock: len(practice.StockMM) > 0, Named: practice.PackingRule}
	err = p.states.useIn(r.Context(), v.key, v.firm, func(state *jobs.State) { page.List = state.CuttingList(practice.Packers(), v.now) })
	if err != nil {
		return err
	}
	page.Live = v.live()
	return show(w, http.StatusOK, page)
}

// getCutting is GET jobs/{job}/packers.
func (s *Server) getCutting(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	practice, err := s.config.Store.FindPractice(r.Context(), firm)
	if err != nil {
		return err
	}
	packers := []jobs.Cutting{}
	now := s.config.Now()
	err = s.states.use(r.Context(), key, func(state *jobs.State) { packers = append(packers, state.CuttingList(practice.Packers(), now)...) })
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"packers": packers, "caution": web.PackCaution})
}
