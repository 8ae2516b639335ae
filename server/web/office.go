package web

import (
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"
)

// Office are the scripts and style sheets that draw what a page of the office
// cannot say in HTML alone. Each is named by its content.
type Office struct{ Bundle }

// OfficePath is where they are served.
const OfficePath = "/office/"

// BuiltOffice is what this program was built with, which has no files where it was
// built without.
var BuiltOffice = sync.OnceValue(func() *Office { return &Office{folder("office")} })

// ReadOffice reads the scripts and style sheets in a folder.
func ReadOffice(files fs.FS) (*Office, error) {
	b, err := readBundle(files)
	if err != nil {
		return nil, err
	}
	return &Office{b}, nil
}

// Address is where the script (".js") or style sheet (".css") of a name is served,
// "" where none was built. The file's name is the name, "-" and the hash.
func (o *Office) Address(name, ext string) string {
	for file := range o.kept {
		hash, ours := strings.CutPrefix(strings.TrimSuffix(file, ext), name+"-")
		if ours && path.Ext(file) == ext && !strings.Contains(hash, "-") {
			return OfficePath + file
		}
	}
	return ""
}

// Has reports whether there is a file of that name.
func (o *Office) Has(name string) bool {
	_, ok := o.kept[name]
	return ok
}

// Serve answers with a file that is there. A browser may keep it for ever.
func (o *Office) Serve(w http.ResponseWriter, r *http.Request, name string) error {
	return o.serve(w, r, name, "public, max-age=31536000, immutable")
}
