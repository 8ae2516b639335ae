package localpg

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// install makes a folder with programs of these names and this mode.
func install(t *testing.T, dir string, mode os.FileMode, names ...string) string {
	t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if err := os.WriteFile(filepath.Join(dir, name), nil, mode); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// The newest installation that is whole is taken; without one the error says
// what to install.
func TestFindBinaries(t *testing.T) {
	root := t.TempDir()
	at := func(version string) string { return filepath.Join(root, version, "bin") }
	install(t, at("9.6"), 0o755, "postgres", "initdb")
	whole := install(t, at("15"), 0o755, "postgres", "initdb", "psql")
	client := install(t, at("16"), 0o755, "psql")
	half := install(t, at("17"), 0o755, "postgres")
	data := install(t, at("18"), 0o644, "postgres", "initdb")

	dirs := newestFirst(filepath.Join(root, "*", "bin"))
	if diff := cmp.Diff([]string{data, half, client, whole, at("9.6")}, dirs); diff != "" {
		t.Errorf("the order (-want +got):\n%s", diff)
	}
	if got, err := firstComplete(dirs); got != whole || err != nil {
		t.Errorf("%s, %v, want %s", got, err, whole)
	}
	for name, dirs := range map[string][]string{"None": nil, "NoneWhole": {data, half, client, at("none")}} {
		_, err := firstComplete(dirs)
		if err == nil || !strings.Contains(err.Error(), "apt-get install") || !strings.Contains(err.Error(), "RELEVEL_DATABASE_URL") {
			t.Errorf("%s: %v, want it to say what to install", name, err)
		}
	}
}

// A link on PATH leads to the folder of the whole installation.
func TestPathInstallation(t *testing.T) {
	whole := install(t, filepath.Join(t.TempDir(), "pg"), 0o755, "postgres", "initdb")
	links := t.TempDir()
	if err := os.Symlink(filepath.Join(whole, "postgres"), filepath.Join(links, "postgres")); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", links)
	t.Setenv(BinariesVariable, "")
	if got, err := findBinaries(); got != whole || err != nil {
		t.Errorf("%s, %v, want %s", got, err, whole)
	}
	t.Setenv("PATH", t.TempDir())
	if dirs := pathInstallation(); len(dirs) != 0 {
		t.Errorf("found %q on an empty path", dirs)
	}
}

// Where there are several installations, one is named; half of one is said to be it.
func TestNamedBinaries(t *testing.T) {
	whole := install(t, filepath.Join(t.TempDir(), "pg"), 0o755, "postgres", "initdb")
	half := install(t, filepath.Join(t.TempDir(), "pg"), 0o755, "postgres")
	t.Setenv(BinariesVariable, whole)
	if got, err := findBinaries(); got != whole || err != nil {
		t.Errorf("%s, %v, want %s", got, err, whole)
	}
	t.Setenv(BinariesVariable, half)
	if _, err := findBinaries(); err == nil || !strings.Contains(err.Error(), BinariesVariable) {
		t.Errorf("%v, want it to name the setting", err)
	}
}
