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
	page := web.MovesPage{Frame: p.frame(r, v, "What to move next, "+v.job.Name), Picture: v.picture, Stands: anySetup(v.picture)}
	page.Live = v.live()
	o := v.options(turnOf(w, r, v))
	if plan := v.picture.Rounds; plan != nil {
		carrying, err := p.carryingOf(r, v, plan.Moves)
		if err != nil {
			return err
		}
		for _, batch := range batches(plan.Moves) {
			page.Batches = append(page.Batches, v.batch(batch, carrying))
		}
		page.Later = web.LaterRounds(plan.Later, v.picture.Aim.Agreed.DailyMM > 0)
		page.Waits = web.Rests(plan)
		o.Round = drawing.RoundOf(plan)
	}
	if len(v.picture.Supports) > 0 {
		page.Floor = svg(drawing.Floor(v.picture, o))
	}
	return show(w, http.StatusOK, page)
}

// carryingOf is what the bearers say of each move of a round, held against what
// the strongest jack of the kit is marked with.
func (p *pages) carryingOf(r *http.Request, v view, moves []jobs.NextMove) (map[string]web.Felt, error) {
	jacks, err := p.config.Store.ListJacks(r.Context(), v.key.firm)
	if err != nil {
		return nil, err
	}
	strongest := 0.0
	for _, j := range jacks {
		if !j.Gone {
			strongest = max(strongest, j.RatedKN)
		}
	}
	felt := map[string]web.Felt{}
	err = p.states.useIn(r.Context(), v.key, v.firm, func(state *jobs.State) {
		for _, m := range moves {
			if c, has := state.Carrying(m.Support, m.ByMM); has {
				felt[m.Support] = web.Felt{Carrying: c, Strongest: strongest}
			}
		}
	})
	return felt, err
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
func (v view) batch(moves []jobs.NextMove, carrying map[string]web.Felt) web.Batch {
	back := "&back=" + url.QueryEscape(v.base()+"/moves")
	b := web.Batch{No: moves[0].Batch + 1}
	var ids []string
	for _, m := range moves {
		ids = append(ids, m.Support)
		one := web.Move{NextMove: m, Href: v.supportPage(m.Support), Felt: carrying[m.Support]}
		if s, ok := v.picture.Support(m.Support); ok {
			one.Pencil = web.Pencil(s)
			if m.First != "" {
				one.Before = v.nextAction(s)
				one.Before.Href += back
			}
		}
		b.Moves = append(b.Moves, one)
	}
	b.Record = v.recordAll(events.KindJacking, ids) + back
	return b
}

// recordAll is the address of a form about several supports at once.
func (v view) recordAll(k events.Kind, ids []string) string {
	href := v.record(k, ids[0])
	for _, id := range ids[1:] {
		href += "&with=" + url.QueryEscape(id)
	}
	return href
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
