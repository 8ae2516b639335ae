package server

import (
	"net/http"
	"strings"

	"relevel/server/web"
)

// The page that checks a bundle can send nothing anywhere: its browser holds it to
// that. The worker fetches its program once, and nothing else.
const (
	verifyPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; worker-src 'self'; connect-src 'none'; " +
		"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
	verifyWorkerPolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'"
)

// getVerifyPage is GET /verify: where anybody checks a bundle, in the browser.
func (p *pages) getVerifyPage(w http.ResponseWriter, _ *http.Request) error {
	page := web.VerifyPage{Frame: web.Frame{Title: "Check a bundle"}}
	if p.config.Verifier.Has("worker.js") {
		page.Script, page.Worker = p.config.Office.Address("verify", ".js"), web.VerifyPath+"worker.js"
	}
	w.Header().Set("Content-Security-Policy", verifyPolicy)
	return show(w, http.StatusOK, page)
}

// getVerifyFile is GET /verify/ and the files below it.
func (p *pages) getVerifyFile(w http.ResponseWriter, r *http.Request) error {
	name := strings.TrimPrefix(r.URL.Path, web.VerifyPath)
	if !p.config.Verifier.Has(name) {
		return refuse(http.StatusNotFound, "There is nothing at this address.")
	}
	w.Header().Set("Content-Security-Policy", verifyWorkerPolicy)
	return p.config.Verifier.Serve(w, r, name)
}
