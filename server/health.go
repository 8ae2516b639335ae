package server

import (
	"context"
	"net/http"
	"time"
)

const checkTimeout = 3 * time.Second

const (
	healthPath = "/healthz"
	readyPath  = "/readyz"
)

// isHealth reports whether a program asks how the server is.
func isHealth(r *http.Request) bool { return r.URL.Path == healthPath || r.URL.Path == readyPath }

// Health answers how the server is, at the two addresses at which the public may ask
// too, and without the limits that hold there: for whoever watches over the server.
func (s *Server) Health() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ask := map[string]func(http.ResponseWriter, *http.Request) error{healthPath: s.getHealth, readyPath: s.getReady}[r.URL.Path]
		if ask == nil || (r.Method != http.MethodGet && r.Method != http.MethodHead) {
			http.NotFound(w, r)
			return
		}
		s.answer(ask).ServeHTTP(w, r)
	})
}

// getHealth says that the process answers, and nothing about what is behind it:
// starting it again would not bring a database back.
func (s *Server) getHealth(w http.ResponseWriter, _ *http.Request) error {
	return reply(w, http.StatusOK, map[string]string{"status": "ok", "version": s.config.Version})
}

// getReady says whether requests can be served, and what is missing. The
// reasons are in the log: whoever asks need not know them.
func (s *Server) getReady(w http.ResponseWriter, r *http.Request) error {
	status, checks := http.StatusOK, map[string]string{}
	if s.leaving.has() {
		status, checks["server"] = http.StatusServiceUnavailable, "leaving"
	}
	s.Look(r.Context(), func(c Check, err error) {
		checks[c.Name] = "ok"
		if err == nil {
			return
		}
		s.config.Logger.WarnContext(r.Context(), "not ready", "check", c.Name, "err", err)
		checks[c.Name] = "away"
		if c.Needed {
			status = http.StatusServiceUnavailable
		}
	})
	if status != http.StatusOK {
		w.Header().Set("Retry-After", "5")
	}
	return reply(w, status, map[string]any{"ready": status == http.StatusOK, "checks": checks})
}

// Look asks one after the other for all that the server needs, and tells what each
// answered.
func (s *Server) Look(ctx context.Context, tell func(Check, error)) {
	for _, c := range s.config.Checks {
		tell(c, runCheck(ctx, c))
	}
}

func runCheck(ctx context.Context, c Check) error {
	ctx, cancel := context.WithTimeout(ctx, checkTimeout)
	defer cancel()
	return c.Run(ctx)
}
