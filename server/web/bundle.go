package web

import (
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
	"time"
)

// README, which is always there, and the folders phone, office and verify, where they were
// built. What else is built, such as the tests of scripts, is not for this program.
//
//go:embed dist/[Rpov]*
var built embed.FS

// Bundle is a folder of files as they were built: files that a browser asks for by
// name, and the brotli copies of them that lie beside them.
type Bundle struct {
	files fs.FS
	kept  map[string]builtFile // by name
}

// builtFile is one file of a bundle.
type builtFile struct {
	media         string
	plain, packed variant // packed has no name where there is no copy
}

// variant is one set of bytes that a file is sent as.
type variant struct {
	name string // in the folder
	size int64
	etag string // SHA-256 of those bytes
}

const brotliExt = ".br"

// readBundle reads a folder, and nothing where it is missing. What has an ending
// that no browser is served, such as a source map, is no part of it.
func readBundle(files fs.FS) (Bundle, error) {
	b := Bundle{files: files, kept: map[string]builtFile{}}
	entries, err := fs.ReadDir(files, ".")
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return b, fmt.Errorf("read what was built: %w", err)
	}
	for _, e := range entries {
		kind, served := media[path.Ext(e.Name())]
		if !served || e.IsDir() {
			continue
		}
		one := builtFile{media: kind}
		if one.plain, err = readVariant(files, e.Name()); err != nil {
			return b, err
		}
		one.packed, err = readVariant(files, e.Name()+brotliExt)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return b, err
		}
		b.kept[e.Name()] = one
	}
	return b, nil
}

// folder is a folder below dist as this program was built with it.
func folder(name string) Bundle {
	files, err := fs.Sub(built, "dist/"+name)
	if err != nil {
		panic(err) // the name is in order
	}
	b, err := readBundle(files)
	if err != nil {
		panic(err) // embedded: cannot fail in a program that was built
	}
	return b
}

func readVariant(files fs.FS, name string) (variant, error) {
	f, err := files.Open(name)
	if err != nil {
		return variant{}, fmt.Errorf("read what was built: %w", err)
	}
	defer f.Close()
	hash := sha256.New()
	size, err := io.Copy(hash, f)
	if err != nil {
		return variant{}, fmt.Errorf("read %s of what was built: %w", name, err)
	}
	return variant{name, size, `"` + hex.EncodeToString(hash.Sum(nil)) + `"`}, nil
}

// serve answers with a file that the bundle has.
func (b Bundle) serve(w http.ResponseWriter, r *http.Request, name, cache string) error {
	one := b.kept[name]
	h, sent := w.Header(), one.plain
	if one.packed.name != "" {
		h.Set("Vary", "Accept-Encoding")
		if acceptsBrotli(r) {
			sent = one.packed
			h.Set("Content-Encoding", "br")
			h.Set("Content-Length", fmt.Sprint(sent.size)) // what ServeContent leaves out then
		}
	}
	f, err := b.files.Open(sent.name)
	if err != nil {
		return fmt.Errorf("open %s of what was built: %w", sent.name, err)
	}
	defer f.Close()
	content, ok := f.(io.ReadSeeker)
	if !ok {
		return fmt.Errorf("open %s of what was built: it cannot be read from its middle", sent.name)
	}
	h.Set("Content-Type", one.media)
	h.Set("Cache-Control", cache)
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
