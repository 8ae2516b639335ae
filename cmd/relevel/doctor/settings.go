package doctor

import (
	"context"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

func (v *visit) settingChecks() []Check {
	return []Check{
		{"Settings", "settings", v.settings},
		{"Settings", "names", v.names},
		{"Settings", "secrets", v.secrets},
	}
}

// settings says whether the server could start with them.
func (v *visit) settings(context.Context) []Finding {
	if v.Broken != nil {
		return wrong("%v", v.Broken).cure("mend this first: the server does not start with it; relevel help serve says what each setting is")
	}
	if v.Embedded {
		return ok("the embedded default, in %s", v.Data)
	}
	return ok("a database and photos of your own, as set")
}

// ours begins the name of every setting, and of what only tests read.
const (
	ours  = "RELEVEL_"
	tests = "RELEVEL_TEST_"
)

// names finds settings that nobody reads: a slip in a name leaves the usual in place
// without a word.
func (v *visit) names(context.Context) []Finding {
	var unknown []string
	for _, name := range slices.Sorted(maps.Keys(v.Env)) {
		if strings.HasPrefix(name, ours) && !strings.HasPrefix(name, tests) && !slices.Contains(v.Known, strings.TrimSuffix(name, "_FILE")) {
			unknown = append(unknown, name)
		}
	}
	if len(unknown) > 0 {
		return look("nothing reads %s", strings.Join(unknown, ", ")).cure("see whether it is a slip: relevel help serve names the settings")
	}
	return nil
}

// secrets looks at each file that holds a setting.
func (v *visit) secrets(context.Context) (all []Finding) {
	for _, name := range slices.Sorted(maps.Keys(v.Env)) {
		if path := v.Env[name]; strings.HasPrefix(name, ours) && strings.HasSuffix(name, "_FILE") && path != "" {
			for _, f := range secretFile(path, slices.Contains(mayBeEmpty, strings.TrimSuffix(name, "_FILE"))) {
				f.Check = name
				all = append(all, f)
			}
		}
	}
	return all
}

// mayBeEmpty are settings whose file may be there before anything is in it.
var mayBeEmpty = []string{"RELEVEL_MAIL_URL"}

func secretFile(path string, mayBeEmpty bool) []Finding {
	info, err := os.Stat(path)
	if err != nil {
		return wrong("%s cannot be read: %v", path, plain(err)).cure("make the file, or name the right one")
	}
	text, err := os.ReadFile(path)
	switch {
	case err != nil:
		return wrong("%s cannot be read: %v", path, plain(err)).cure("give it to the account that the server runs as: chown and chmod 600")
	case strings.TrimSpace(string(text)) == "" && mayBeEmpty:
		return ok("%s is empty, which is as if it were not set", path)
	case strings.TrimSpace(string(text)) == "":
		return wrong("%s is empty", path).cure("write the secret into it")
	case info.Mode().Perm()&0o007 != 0 && openFolders(path):
		return look("%s may be read by everybody (%04o)", path, info.Mode().Perm()).cure("chmod o= %s", path)
	}
	return ok("read from %s", path)
}

// openFolders reports whether everybody can reach a file: not one below a closed folder,
// and not a container's secrets, which it alone has.
func openFolders(path string) bool {
	if strings.HasPrefix(path, "/run/secrets/") {
		return false
	}
	for folder := filepath.Dir(path); ; folder = filepath.Dir(folder) {
		if info, err := os.Stat(folder); err == nil && info.Mode().Perm()&0o001 == 0 {
			return false
		}
		if folder == filepath.Dir(folder) {
			return true
		}
	}
}

// plain is an error without the path, which was said.
func plain(err error) error {
	if path, is := err.(*fs.PathError); is {
		return path.Err
	}
	return fmt.Errorf("%w", err)
}
