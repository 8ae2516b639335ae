package web

import (
	"io/fs"
	"net/http"
	"sync"
)

// VerifyPath is where the program that checks bundles in a browser is served.
const VerifyPath = "/verify/"

// Verifier is the program that checks bundles in a browser, and the worker it runs in.
type Verifier struct{ Bundle }

// BuiltVerifier is the one that this program was built with, which has no files where
// it was built without.
var BuiltVerifier = sync.OnceValue(func() *Verifier { return &Verifier{folder("verify")} })

// ReadVerifier reads the program in a folder.
func ReadVerifier(files fs.FS) (*Verifier, error) {
	b, err := readBundle(files)
	if err != nil {
		return nil, err
	}
	return &Verifier{b}, nil
}

// Has reports whether there is a file of that name.
func (v *Verifier) Has(name string) bool {
	_, ok := v.kept[name]
	return ok
}

// Serve answers with a file that is there.
func (v *Verifier) Serve(w http.ResponseWriter, r *http.Request, name string) error {
	return v.serve(w, r, name, "no-cache")
}

// VerifyPage is where a bundle is checked in the browser. It says nothing of any firm.
type VerifyPage struct {
	Frame
	Script string // "" where none was built
	Worker string
}

func (VerifyPage) page() string { return "verify" }
