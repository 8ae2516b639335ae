package server

import (
	"net/http"
	"strings"

	"relevel/server/web"
)

// phonePath is where the phone's app lives. Its service worker has power over what
// is below, and so over nothing else of the site.
const phonePath = "/phone/"

// The app runs scripts of its own folder alone, and WebAssembly; it takes pictures
// and sound, and keeps the screen lit.
const (
	phonePolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; media-src 'self' blob:; " +
		"connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
	phonePermissions = "camera=(self), microphone=(self), screen-wake-lock=(self), geolocation=(), display-capture=(), payment=(), usb=()"
)

// getPhoneApp is GET /phone/ and the files below it. It is open to everybody, since
// a phone is paired from inside the app.
func (p *pages) getPhoneApp(w http.ResponseWriter, r *http.Request) error {
	name := strings.TrimPrefix(r.URL.Path, phonePath)
	switch has := p.config.Phone.Has(name); {
	case !has && name == "":
		return show(w, http.StatusNotFound, web.NoPhonePage{Frame: web.Frame{Title: "No phone app"}})
	case !has:
		return refuse(http.StatusNotFound, "There is nothing at this address.")
	}
	w.Header().Set("Content-Security-Policy", phonePolicy)
	w.Header().Set("Permissions-Policy", phonePermissions)
	return p.config.Phone.Serve(w, r, name)
}
