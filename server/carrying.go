package server

import (
	"net/http"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
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
	known := false
	err = s.states.use(r.Context(), key, func(state *jobs.State) {
		known = len(state.Figures(s.config.Now(), id)) > 0
		if c, has := state.Carrying(id, 0); has {
			answer["carrying"] = c
		}
		if l, has := state.LoadOn(id); has {
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
