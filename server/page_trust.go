package server

import (
	"net/http"
	"strings"

	"relevel/server/web"
)

// getTrustPage is GET /trust: how a phone comes to trust the server's own root,
// and why nothing is recorded over plain http. Also reached without TLS.
func (p *pages) getTrustPage(w http.ResponseWriter, r *http.Request) error {
	return show(w, http.StatusOK, web.TrustPage{Frame: web.Frame{Title: "Trust this server"}, Plain: !isHTTPS(r), Own: p.config.Root != nil, Address: "https://" + r.Host, Phone: phonePath})
}

// getRoot is GET /root.crt.
func (p *pages) getRoot(w http.ResponseWriter, _ *http.Request) error {
	if p.config.Root == nil {
		return refuse(http.StatusNotFound, "This server has no root of its own.")
	}
	w.Header().Set("Content-Type", "application/x-x509-ca-cert")
	w.Header().Set("Content-Disposition", `attachment; filename="relevel-root.crt"`)
	w.Write(p.config.Root) // a reader that has gone away is no error
	return nil
}

// needTLS leads whoever comes over plain http to where trust begins, where the
// server has a root of its own: an access that was sent in the clear would be
// anybody's on that network.
func (s *Server) needTLS(next http.Handler) http.Handler {
	if s.config.Root == nil {
		return next
	}
	return s.answer(func(w http.ResponseWriter, r *http.Request) error {
		open := r.URL.Path == "/trust" || r.URL.Path == "/root.crt" || r.URL.Path == "/healthz" || strings.HasPrefix(r.URL.Path, "/static/")
		switch {
		case r.TLS != nil || open:
			next.ServeHTTP(w, r)
		case strings.HasPrefix(r.URL.Path, "/api/") || r.Method != http.MethodGet:
			return refuse(http.StatusForbidden, "Over plain http nothing is taken: use https, and see /trust.")
		default:
			http.Redirect(w, r, "/trust", http.StatusSeeOther)
		}
		return nil
	})
}
