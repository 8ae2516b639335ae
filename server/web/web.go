// Package web holds the pages: their templates, their style sheets and the few
// lines of script that make them nicer, all embedded. Pages work without
// script; only looking on while others work needs it.
package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"

	"relevel/jobs"
	"relevel/levelling"
)

//go:embed static templates
var files embed.FS

// asset is one static file as it is served.
type asset struct {
	name    string // pages.css
	address string // /static/pages.0123456789ab.css
	media   string
	bytes   []byte
}

var media = map[string]string{
	".css":         "text/css; charset=utf-8",
	".html":        "text/html; charset=utf-8",
	".js":          "text/javascript; charset=utf-8",
	".png":         "image/png",
	".svg":         "image/svg+xml",
	".wasm":        "application/wasm",
	".webmanifest": "application/manifest+json",
}

// together are the style sheets and scripts that every page has, each kind sent as one
// file, in the order in which a page reads them.
var together = map[string][]string{
	"pages.css": {"page.css", "form.css", "drawing.css", "daysheet.css", "office.css", "access.css", "sheet.css", "columns.css",
		"desk.css", "hook.css", "api.css", "checkpoint.css", "share.css", "owner.css", "pack.css", "verify.css"},
	"pages.js": {"page.js", "daysheet.js", "office.js", "share.js", "pack.js"},
}

// assets reads the static files once and names each by its content, so that a
// browser may keep it for ever.
var assets = sync.OnceValue(func() map[string]asset {
	all, inside := map[string]asset{}, map[string]bool{}
	for name, parts := range together {
		var joined []byte
		for _, part := range parts {
			joined, inside[part] = append(joined, static(part)...), true
		}
		all[name] = assetOf(name, joined)
	}
	entries, err := fs.ReadDir(files, "static")
	if err != nil {
		panic(err) // embedded: cannot fail in a program that was built
	}
	for _, e := range entries {
		if !inside[e.Name()] {
			all[e.Name()] = assetOf(e.Name(), static(e.Name()))
		}
	}
	return all
})

func static(name string) []byte {
	b, err := files.ReadFile("static/" + name)
	if err != nil {
		panic(err)
	}
	return b
}

func assetOf(name string, b []byte) asset {
	sum := sha256.Sum256(b)
	ext := path.Ext(name)
	return asset{name, "/static/" + strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:6]) + ext, media[ext], b}
}

// Address is where a static file is served.
func Address(name string) (string, error) {
	a, ok := assets()[name]
	if !ok {
		return "", fmt.Errorf("no static file %q", name)
	}
	return a.address, nil
}

// Static serves the static files below /static/.
func Static() http.Handler {
	byAddress := map[string]asset{}
	for _, a := range assets() {
		byAddress[a.address] = a
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a, ok := byAddress[r.URL.Path]
		if !ok {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", a.media)
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		w.Write(a.bytes)
	})
}

// parse makes the pages in a unit and in the words of a region, by name.
func parse(in jobs.Speech) map[string]*template.Template {
	names, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		panic(err)
	}
	parts, err := fs.Glob(files, "templates/parts/*.html")
	if err != nil {
		panic(err)
	}
	around := template.New("frame.html").Funcs(functions).Funcs(functionsIn(in.Units)).Funcs(saying(in.Words))
	for _, name := range append([]string{"templates/frame.html", "templates/parts.html"}, parts...) {
		template.Must(addTo(around, name, in.Words))
	}
	all := map[string]*template.Template{}
	for _, name := range names {
		base := path.Base(name)
		if base == "frame.html" || base == "parts.html" {
			continue
		}
		page := template.Must(around.Clone())
		all[strings.TrimSuffix(base, ".html")] = template.Must(addTo(page, name, in.Words))
	}
	return all
}

// addTo adds a file to templates, in the words of a region.
func addTo(all *template.Template, name string, words jobs.Words) (*template.Template, error) {
	text, err := files.ReadFile(name)
	if err != nil {
		return nil, err
	}
	of := all
	if base := path.Base(name); base != all.Name() {
		of = all.New(base)
	}
	return of.Parse(sayTemplate(string(text), words))
}

// Page is what a page shows; its name is that of its template. The frame around it
// says in which unit lengths are written, and in whose words.
type Page interface {
	page() string
	speech() jobs.Speech
}

// Render makes a page. It is made whole before anything is sent, so that a
// fault in a template is an error and no half page.
func Render(p Page) ([]byte, error) { return RenderPart(p, "frame.html") }

// RenderPart makes a part of a page, by the name of its template.
func RenderPart(p Page, part string) ([]byte, error) {
	return renderPart(p.speech(), p.page(), part, p)
}

func renderPart(in jobs.Speech, page, part string, of any) ([]byte, error) {
	if in.Units != levelling.Inch && in.Units != levelling.Foot {
		in.Units = levelling.Millimetre
	}
	var b bytes.Buffer
	t, ok := templatesIn(in)[page]
	if !ok {
		return nil, fmt.Errorf("no template %q", page)
	}
	if err := t.ExecuteTemplate(&b, part, of); err != nil {
		return nil, fmt.Errorf("make page %s: %w", page, err)
	}
	return b.Bytes(), nil
}
