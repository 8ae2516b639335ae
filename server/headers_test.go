package server_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// mayBeKept are the addresses whose answers a browser may keep, and why: everything
// else is asked for anew.
var mayBeKept = map[string]string{
	"GET /static/*":            "named by its content, and says nothing of any firm",
	"GET /office/*":            "likewise",
	"GET /phone/*":             "the app, the same for everybody",
	"GET /verify/*":            "likewise",
	"GET /api/v1/openapi.json": "the description of the API",
}

// Whatever is asked of whichever address, the answer lets nothing run that is not ours, is
// framed by nobody, is taken for no other type, and stays in no cache.
func TestHeadersOfEveryDoor(t *testing.T) {
	s := newMemorySite(t)
	s.names["token"] = s.token
	entered := false
	for _, d := range append(doors, door{route: "GET /nothing/at/all", open: true}, door{route: "PATCH /jobs"}, door{route: "TRACE /"},
		door{route: "POST /enter", body: "token={token}", open: true}) {
		for _, accept := range []string{"text/html", "application/json"} {
			r := s.request(t, d, d.at, []byte(d.body))
			r.Header.Set("Accept", accept)
			r.Header.Set("X-Forwarded-Proto", "https")
			if d.media != "" {
				r.Header.Set("Content-Type", d.media)
			}
			w := httptest.NewRecorder()
			s.app.ServeHTTP(w, r)
			entered = entered || strings.Contains(strings.Join(w.Header().Values("Set-Cookie"), "\n"), "__Host-relevel=rs_")
			for _, fault := range headerFaults(d.route, w.Header()) {
				t.Errorf("%s for %s answers %d with %s", d.route, accept, w.Code, fault)
			}
		}
	}
	if !entered {
		t.Error("nobody was given the cookie of a session: nothing was looked at")
	}
}

// headerFaults says what is missing in the head of an answer, or too much.
func headerFaults(route string, h http.Header) (faults []string) {
	for name, want := range map[string]string{
		"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin",
		"Cross-Origin-Resource-Policy": "same-origin", "Strict-Transport-Security": "max-age=31536000", "Access-Control-Allow-Origin": "", "Server": "",
	} {
		if got := h.Get(name); got != want {
			faults = append(faults, name+": "+got)
		}
	}
	if got := h.Get("Clear-Site-Data"); (route == "POST /leave" || route == "POST /s/{share}/leave") != (got == `"cache"`) {
		faults = append(faults, "Clear-Site-Data: "+got)
	}
	policy := h.Get("Content-Security-Policy")
	if !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "'unsafe-") || strings.Contains(policy, "*") || strings.Contains(policy, "http") ||
		!strings.Contains(policy, "frame-ancestors 'none'") && !strings.Contains(policy, "sandbox") && !strings.Contains(policy, "connect-src 'self'") {
		faults = append(faults, "Content-Security-Policy: "+policy)
	}
	if got := h.Get("Permissions-Policy"); !strings.HasPrefix(route, "GET /phone") && !strings.HasPrefix(got, "camera=(), microphone=()") {
		faults = append(faults, "Permissions-Policy: "+got)
	}
	if got := h.Get("Cache-Control"); !strings.Contains(got, "no-store") && mayBeKept[route] == "" {
		faults = append(faults, "Cache-Control: "+got)
	}
	for _, cookie := range h.Values("Set-Cookie") {
		safe := strings.Contains(cookie, "; HttpOnly; Secure; SameSite=Lax")
		opens := strings.Contains(cookie, "relevel") // the others say how somebody likes a page
		if !safe || opens && !strings.HasPrefix(cookie, "__Host-") && !strings.HasPrefix(cookie, "__Secure-relevel-owner=; Path=/s/") {
			faults = append(faults, "Set-Cookie: "+cookie)
		}
	}
	return faults
}
