package web

import (
	"cmp"
	"io/fs"
	"net/http"
	"sync"
)

// PhoneApp is the phone's app as it was built.
type PhoneApp struct{ Bundle }

const phoneIndex = "index.html"

// BuiltPhone is the app that this program was built with, which has no files where
// it was built without.
var BuiltPhone = sync.OnceValue(func() *PhoneApp { return &PhoneApp{folder("phone")} })

// ReadPhoneApp reads the app in a folder, and none where the folder is missing.
func ReadPhoneApp(files fs.FS) (*PhoneApp, error) {
	b, err := readBundle(files)
	if err != nil {
		return nil, err
	}
	return &PhoneApp{b}, nil
}

// Has reports whether there is a file of that name; "" is the app's page, without
// which there is no app.
func (a *PhoneApp) Has(name string) bool {
	_, ok := a.kept[cmp.Or(name, phoneIndex)]
	return ok
}

// Serve answers with a file that the app has. The service worker keeps the app, and
// names carry no hash.
func (a *PhoneApp) Serve(w http.ResponseWriter, r *http.Request, name string) error {
	return a.serve(w, r, cmp.Or(name, phoneIndex), "no-cache")
}

// NoPhonePage stands where the phone's app would be.
type NoPhonePage struct{ Frame }

func (NoPhonePage) page() string { return "nophone" }
