package web

import (
	"cmp"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"
	"time"
)

// README, which is always there, and the folder phone, where it was built. What
// else is built, such as the app's tests, is not for this program.
//
//go:embed dist/[Rp]*
var built embed.FS

// PhoneApp is the phone's app as it was built: files that a browser asks for by
// name, and the brotli copies of them that lie beside them.
type PhoneApp struct {
	files fs.FS
	kept  map[string]phoneFile // by name
}

// phoneFile is one file of the app.
type phoneFile struct {
	media         string
	plain, packed variant // packed has no name where there is no copy
}

// variant is one set of bytes that a file is sent as.
type variant struct {
	name string // in the folder
	size int64
	etag string // SHA-256 of those bytes
}

const (
	brotliExt  = ".br"
	phoneIndex = "index.html"
)

// BuiltPhone is the app that this program was built with, which has no files where
// it was built without.
var BuiltPhone = sync.OnceValue(func() *PhoneApp {
	files, err := fs.Sub(built, "dist/phone")
	if err != nil {
		panic(err) // the name is in order
	}
	app, err := ReadPhoneApp(files)
	if err != nil {
		panic(err) // embedded: cannot fail in a program that was built
	}
	return app
})

// ReadPhoneApp reads the app in a folder, and none where the folder is missing.
// What has an ending that no browser is served, such as a source map, is no part
// of the app.
func ReadPhoneApp(files fs.FS) (*PhoneApp, error) {
	app := &PhoneApp{files: files, kept: map[string]phoneFile{}}
	entries, err := fs.ReadDir(files, ".")
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("read the phone's app: %w", err)
	}
	for _, e := range entries {
		kind, served := media[path.Ext(e.Name())]
		if !served || e.IsDir() {
			continue
		}
		one := phoneFile{media: kind}
		if one.plain, err = readVariant(files, e.Name()); err != nil {
			return nil, err
		}
		one.packed, err = readVariant(files, e.Name()+brotliExt)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		app.kept[e.Name()] = one
	}
	return app, nil
}

func readVariant(files fs.FS, name string) (variant, error) {
	f, err := files.Open(name)
	if err != nil {
		return variant{}, fmt.Errorf("read the phone's app: %w", err)
	}
	defer f.Close()
	hash := sha256.New()
	size, err := io.Copy(hash, f)
	if err != nil {
		return variant{}, fmt.Errorf("read %s of the phone's app: %w", name, err)
	}
	return variant{name, size, `"` + hex.EncodeToString(hash.Sum(nil)) + `"`}, nil
}

// Has reports whether there is a file of that name; "" is the app's page, without
// which there is no app.
func (a *PhoneApp) Has(name string) bool {
	_, ok := a.kept[cmp.Or(name, phoneIndex)]
	return ok
}

// Serve answers with a file that the app has.
func (a *PhoneApp) Serve(w http.ResponseWriter, r *http.Request, name string) error {
	one := a.kept[cmp.Or(name, phoneIndex)]
	h, sent := w.Header(), one.plain
	if one.packed.name != "" {
		h.Set("Vary", "Accept-Encoding")
		if acceptsBrotli(r) {
			sent = one.packed
			h.Set("Content-Encoding", "br")
			h.Set("Content-Length", fmt.Sprint(sent.size)) // what ServeContent leaves out then
		}
	}
	f, err := a.files.Open(sent.name)
	if err != nil {
		return fmt.Errorf("open %s of the phone's app: %w", sent.name, err)
	}
	defer f.Close()
	content, ok := f.(io.ReadSeeker)
	if !ok {
		return fmt.Errorf("open %s of the phone's app: it cannot be read from its middle", sent.name)
	}
	h.Set("Content-Type", one.media)
	h.Set("Cache-Control", "no-cache") // the service worker keeps the app; names carry no hash
	h.Set("ETag", sent.etag)
	http.ServeContent(w, r, name, time.Time{}, content)
	return nil
}

// acceptsBrotli reads Accept-Encoding (RFC 9110, 12.5.3).
func acceptsBrotli(r *http.Request) bool {
	for _, line := range r.Header.Values("Accept-Encoding") {
		for one := range strings.SplitSeq(line, ",") {
			coding, weight, _ := strings.Cut(strings.ReplaceAll(one, " ", ""), ";")
			if strings.EqualFold(coding, "br") {
				return strings.Trim(strings.TrimPrefix(weight, "q="), "0.") != "" || weight == ""
			}
		}
	}
	return false
}

// NoPhonePage stands where the phone's app would be.
type NoPhonePage struct{ Frame }

func (NoPhonePage) page() string { return "nophone" }
