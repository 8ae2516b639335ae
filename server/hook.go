package server

import (
	"net/http"
	"slices"
	"time"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/hooks"
)

// hookRoutes add the addresses that a firm wants told.
func (p *pages) hookRoutes(own, api firmRoutes) {
	api.get("/hooks", p.getHooks)
	api.post("/hooks", p.postHook)
	api.get("/hooks/{hook}", p.getHook)
	api.post("/hooks/{hook}/{act}", p.postHookAct)
	own.get("/hooks", p.getHooksPage)
	own.post("/hooks", p.postHooksPage)
	own.get("/hooks/{hook}", p.getHookPage)
	own.post("/hooks/{hook}/{act}", p.postHookActPage)
}

// errUntold says that this server has no queue to tell hooks from.
var errUntold = refuse(http.StatusServiceUnavailable, "This server tells nobody: whoever runs it has to set the role that finds what is due.")

// getHooks is GET hooks.
func (s *Server) getHooks(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	all, err := s.config.Store.ListHooks(r.Context(), firm)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"hooks": append([]jobs.Hook{}, all...), "happenings": jobs.Happenings()})
}

// sentHook is a hook as it is asked for, and as it is answered once with its secret.
type sentHook struct {
	ID         events.ID        `json:"id"`
	Name       string           `json:"name"`
	URL        string           `json:"url"`
	Happenings []jobs.Happening `json:"happenings"`
	Secret     string           `json:"secret,omitempty"`
	CreatedAt  time.Time        `json:"created_at,omitzero"`
}

// postHook is POST hooks. The secret is in the answer and nowhere after.
func (s *Server) postHook(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	var asked sentHook
	if err := decode(w, r, &asked); err != nil {
		return err
	}
	h, err := s.createHook(r, jobs.Hook{Firm: firm, ID: asked.ID, Name: asked.Name, URL: asked.URL, Happenings: asked.Happenings})
	if err != nil {
		return err
	}
	w.Header().Set("Location", "/api/v1/hooks/"+h.ID.String())
	return reply(w, http.StatusCreated, sentHook{h.ID, h.Name, h.URL, h.Happenings, h.Secret, h.CreatedAt})
}

// createHook makes a hook and its secret.
func (s *Server) createHook(r *http.Request, h jobs.Hook) (jobs.Hook, error) {
	if s.hooks == nil {
		return h, errUntold
	}
	if err := h.Check(); err != nil {
		return h, err
	}
	if err := s.config.Hooks.CheckURL(h.URL); err != nil {
		return h, err
	}
	var err error
	if h.Secret, err = hooks.NewSecret(s.config.Random); err != nil {
		return h, err
	}
	if err := s.nameIt(&h.ID); err != nil {
		return h, err
	}
	h.CreatedAt = s.stamp()
	if err := s.config.Store.CreateHook(r.Context(), h); err != nil {
		return h, err
	}
	s.hooks.forget(h.Firm)
	s.trail.note(h.Firm, r, jobs.Trace{What: jobs.HookMade, About: h.ID})
	return h, nil
}

// findHook finds the hook that an address names.
func (s *Server) findHook(r *http.Request, firm events.ID) (jobs.Hook, error) {
	id, err := events.ParseID(mux.Vars(r)["hook"])
	if err != nil {
		return jobs.Hook{}, events.ErrNotFound
	}
	return s.config.Store.FindHook(r.Context(), firm, id)
}

// getHook is GET hooks/{hook}: how it stands, and its last deliveries.
func (s *Server) getHook(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	h, err := s.findHook(r, firm)
	if err != nil {
		return err
	}
	list, err := s.config.Store.ListDeliveries(r.Context(), firm, h.ID)
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, hookAnswer{h, append([]jobs.Delivery{}, list...)})
}

// hookAnswer is a hook with its last deliveries.
type hookAnswer struct {
	jobs.Hook
	Deliveries []jobs.Delivery `json:"deliveries"`
}

// postHookAct is POST hooks/{hook}/{act}: test, again?delivery=, pause, resume or delete.
func (s *Server) postHookAct(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	d, err := s.actOnHook(r, firm)
	switch {
	case err != nil:
		return err
	case d == nil:
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	return reply(w, http.StatusOK, d)
}

// actOnHook does what an address asks of a hook, and returns the delivery where one
// was sent.
func (s *Server) actOnHook(r *http.Request, firm events.ID) (*jobs.Delivery, error) {
	h, err := s.findHook(r, firm)
	if err != nil {
		return nil, err
	}
	if s.hooks == nil {
		return nil, errUntold
	}
	ctx, store := r.Context(), s.config.Store
	switch mux.Vars(r)["act"] {
	case "test":
		id, err := events.NewID(s.config.Now(), s.config.Random)
		if err != nil {
			return nil, err
		}
		d, err := s.hooks.teller.Try(ctx, h, id)
		return &d, err
	case "again":
		return s.sendAgain(r, h)
	case "pause":
		h.PausedAt = s.stamp()
		err = store.MarkHook(ctx, firm, h.ID, h.HookStanding)
		s.hooks.forget(firm)
	case "resume":
		if err = store.MarkHook(ctx, firm, h.ID, jobs.HookStanding{}); err == nil {
			err = s.hooks.wake(ctx, h)
		}
	case "delete":
		if err = store.DeleteHook(ctx, firm, h.ID); err == nil {
			s.trail.note(firm, r, jobs.Trace{What: jobs.HookGone, About: h.ID})
			s.hooks.forget(firm)
			err = s.hooks.queue.Drop(ctx, firm, hooks.Kind, h.ID.String()+" ")
		}
	default:
		return nil, events.ErrNotFound
	}
	return nil, err
}

// sendAgain sends once more what a delivery was about.
func (s *Server) sendAgain(r *http.Request, h jobs.Hook) (*jobs.Delivery, error) {
	list, err := s.config.Store.ListDeliveries(r.Context(), h.Firm, h.ID)
	if err != nil {
		return nil, err
	}
	asked, err := events.ParseID(r.FormValue("delivery"))
	i := slices.IndexFunc(list, func(d jobs.Delivery) bool { return d.ID == asked })
	if err != nil || i < 0 {
		return nil, refuse(http.StatusNotFound, "That delivery is not kept any more.")
	}
	d, err := s.hooks.teller.Again(r.Context(), h, list[i])
	return &d, err
}
