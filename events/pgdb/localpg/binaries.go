package localpg

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// needed are the programs of a Postgres installation that are used here.
var needed = []string{"postgres", "initdb"}

// BinariesVariable names the folder of the installation to use where there are several.
const BinariesVariable = "RELEVEL_POSTGRES_BIN"

var errNoBinaries = errors.New(`no PostgreSQL server is installed (looked for "postgres" and "initdb" on PATH and in /usr/lib/postgresql/*/bin).
On Debian or Ubuntu, as root:
    mkdir -p /etc/postgresql-common
    echo 'create_main_cluster = false' >> /etc/postgresql-common/createcluster.conf
    apt-get install --no-install-recommends postgresql-15     # or another version from 14 on
The second line keeps the package from starting a server of its own. Or name a running server in RELEVEL_DATABASE_URL`)

// findBinaries returns the folder that BinariesVariable names, or of the installation
// on PATH or, if there is none, of the newest one in Debian's places. Debian puts
// wrappers of a few of the programs on PATH, but not "postgres" itself.
func findBinaries() (string, error) {
	if dir := os.Getenv(BinariesVariable); dir != "" {
		if !complete(dir) {
			return "", fmt.Errorf("%s is set to %s, where there is no postgres or no initdb: name the folder that holds both, or unset it", BinariesVariable, dir)
		}
		return filepath.Abs(dir)
	}
	return firstComplete(append(pathInstallation(), newestFirst("/usr/lib/postgresql/*/bin")...))
}

func firstComplete(dirs []string) (string, error) {
	for _, dir := range dirs {
		if complete(dir) {
			return dir, nil
		}
	}
	return "", errNoBinaries
}

func pathInstallation() []string {
	found, err := exec.LookPath("postgres")
	if err != nil {
		return nil
	}
	if real, err := filepath.EvalSymlinks(found); err == nil {
		found = real
	}
	return []string{filepath.Dir(found)}
}

// newestFirst lists the folders of a well-formed pattern whose parents are
// named by version.
func newestFirst(pattern string) []string {
	dirs, _ := filepath.Glob(pattern)
	version := func(dir string) int {
		n, _ := strconv.Atoi(filepath.Base(filepath.Dir(dir)))
		return n
	}
	slices.SortFunc(dirs, func(a, b string) int { return version(b) - version(a) })
	return dirs
}

func complete(dir string) bool {
	for _, name := range needed {
		info, err := os.Stat(filepath.Join(dir, name))
		if err != nil || info.Mode()&0o111 == 0 {
			return false
		}
	}
	return true
}

// Version is what the installed server says of itself, for example
// "postgres (PostgreSQL) 15.18".
func Version() (string, error) {
	dir, err := findBinaries()
	if err != nil {
		return "", err
	}
	return versionOf(dir)
}

func versionOf(binaries string) (string, error) {
	out, err := exec.Command(filepath.Join(binaries, "postgres"), "--version").Output()
	if err != nil {
		return "", fmt.Errorf("ask postgres for its version: %w", err)
	}
	return strings.TrimSpace(string(out)), nil
}
