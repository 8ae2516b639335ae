package server

import (
	"net/http"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// getCarrying is GET jobs/{job}/supports/{support}/carrying: what the bearer over
// a support says, and what the support carries by its share of the plan.
func (s *Server) getCarrying(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	id := mux.Vars(r)["support"]
	answer := map[string]any{"support": id, "caution": web.LiftCaution}
	pour, err := pourOf(r)
	if err != nil {
		return err
	}
	if err := s.ownBags(r, firm, &pour); err != nil {
		return err
	}
	known := false
	err = s.states.use(r.Context(), key, func(state *jobs.State) {
		known = len(state.Figures(s.config.Now(), id)) > 0
		if c, has := state.Carrying(id, 0); has {
			answer["carrying"] = c
		}
		if l, has := state.LoadOn(id, pour); has {
			answer["load"] = l
		}
	})
	if err != nil {
		return err
	}
	if !known {
		return refuse(http.StatusNotFound, "The plan has no support of that name.")
	}
	return reply(w, http.StatusOK, answer)
}

// ownBags lets a pad be poured from the bags that the firm buys, where no others
// were asked for.
func (s *Server) ownBags(r *http.Request, firm events.ID, pour *jobs.Pour) error {
	if r.URL.Query().Has("bag_litres") {
		return nil
	}
	practice, err := s.config.Store.FindPractice(r.Context(), firm)
	pour.BagM3 = practice.BagM3
	return err
}

// pourOf is the pad that was asked for: ?thickness_mm=&bag_litres=.
func pourOf(r *http.Request) (pour jobs.Pour, err error) {
	for _, f := range []struct {
		name string
		of   float64
		into *float64
	}{{"thickness_mm", 1, &pour.ThicknessMM}, {"bag_litres", 1000, &pour.BagM3}} {
		text := r.URL.Query().Get(f.name)
		if text == "" {
			continue
		}
		v, err := readDecimal(text)
		if err != nil || v < 0 || v > 10_000 {
			return pour, levelling.Bad(f.name, "a number above 0, or nothing")
		}
		*f.into = v / f.of
	}
	return pour, nil
}
