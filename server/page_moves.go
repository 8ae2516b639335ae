package server

import (
	"net/http"
	"net/url"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/drawing"
	"relevel/server/web"
)

// getMovesPage is GET /jobs/{job}/moves: which support is moved next, how far, and
// where the staff stops.
func (p *pages) getMovesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	page := web.MovesPage{Frame: p.frame(r, v, "What to move next, "+v.job.Name), Picture: v.picture, Live: anySetup(v.picture)}
	page.Frame.Live = v.live()
	o := v.options(turnOf(w, r, v))
	if plan := v.picture.Rounds; plan != nil {
		o.Order = map[string]int{}
		for _, batch := range batches(plan.Moves) {
			page.Batches = append(page.Batches, v.batch(batch))
			for _, m := range batch {
				o.Order[m.Support] = batch[0].Batch + 1
			}
		}
	}
	if len(v.picture.Supports) > 0 {
		page.Floor = svg(drawing.Floor(v.picture, o))
	}
	return show(w, http.StatusOK, page)
}

// batches parts the moves of a round into those that are pumped together.
func batches(moves []jobs.NextMove) (out [][]jobs.NextMove) {
	for i, m := range moves {
		if i == 0 || m.Batch != moves[i-1].Batch {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], m)
	}
	return out
}

// batch is one pumping with the way to record it. Without its figures: they are
// typed as they were measured.
func (v view) batch(moves []jobs.NextMove) web.Batch {
	b := web.Batch{No: moves[0].Batch + 1, Record: v.record(events.KindJacking, moves[0].Support) + "&back=" + url.QueryEscape(v.base()+"/moves")}
	for _, m := range moves {
		b.Moves = append(b.Moves, web.Move{NextMove: m, Href: v.supportPage(m.Support)})
	}
	return b
}

// getRounds is GET jobs/{job}/rounds.
func (s *Server) getRounds(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	var plan *jobs.Rounds
	now := s.config.Now()
	err = s.states.use(r.Context(), key, func(state *jobs.State) { plan = state.Picture(now).Rounds })
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"rounds": plan, "caution": web.LiftCaution})
}
