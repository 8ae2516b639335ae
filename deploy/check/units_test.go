package check

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func units(t *testing.T, pattern string) []string {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(absolute(t, top), "deploy", "systemd", pattern))
	if err != nil || len(paths) == 0 {
		t.Fatalf("no units: %v", err)
	}
	return paths
}

// systemd itself reckons how much of the machine each service may see: 2.5 of 10 at most.
func TestUnitsAreHardened(t *testing.T) {
	t.Parallel()
	exposed := func(path string) (string, error) {
		out, err := exec.Command("systemd-analyze", "security", "--offline=true", "--threshold=25", "--no-pager", path).CombinedOutput()
		_, overall, _ := strings.Cut(string(out), "Overall exposure level")
		return overall, err
	}
	for _, path := range units(t, "*.service") {
		if says, err := exposed(path); err != nil || says == "" {
			t.Errorf("%s: %v, exposed%s", filepath.Base(path), err, says)
		}
	}
	open := filepath.Join(t.TempDir(), "open.service")
	if err := os.WriteFile(open, []byte("[Service]\nExecStart=/bin/true\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if says, err := exposed(open); err == nil {
		t.Errorf("a unit that is open passes%s", says)
	}
}

// systemd reads every unit without a word; the program and the account are those of the
// package, which need not be installed here.
func TestUnitsAreUnderstood(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	var paths []string
	for _, path := range append(units(t, "*.service"), units(t, "*.timer")...) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		here := strings.NewReplacer("/usr/bin/relevel", "/bin/true", "=relevel\n", "=daemon\n").Replace(string(text))
		copied := filepath.Join(dir, filepath.Base(path))
		if err := os.WriteFile(copied, []byte(here), 0o644); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, copied)
	}
	out, err := exec.Command("systemd-analyze", append([]string{"verify", "--man=no", "--recursive-errors=no"}, paths...)...).CombinedOutput()
	if err != nil || strings.Contains(string(out), dir) {
		t.Errorf("systemd-analyze verify: %v\n%s", err, out)
	}
	broken := filepath.Join(dir, "broken.service")
	if err := os.WriteFile(broken, []byte("[Service]\nExecStart=/bin/true\nProtectEverything=yes\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, _ := exec.Command("systemd-analyze", "verify", "--man=no", broken).CombinedOutput(); !strings.Contains(string(out), "ProtectEverything") {
		t.Errorf("it says nothing about what is wrong: %s", out)
	}
}

// A unit's settings as they are written, by section and name.
func unitLines(t *testing.T, name string) []string {
	t.Helper()
	text, err := os.ReadFile(units(t, name)[0])
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(string(text), "\n")
}

// The server is given more time to stop than its requests, the schema goes before it,
// and the owner's address is handed to the migration alone.
func TestUnitsOrder(t *testing.T) {
	t.Parallel()
	server := unitLines(t, "relevel.service")
	for _, want := range []string{"TimeoutStopSec=60s", "KillMode=mixed", "User=relevel"} {
		if !slices.Contains(server, want) {
			t.Errorf("relevel.service has no %s", want)
		}
	}
	if drain := drainTime(t).Seconds(); drain > 30 {
		t.Errorf("requests may take %v s, and with the private Postgres the unit is given 60", drain)
	}
	for _, setting := range []string{"Wants=", "After="} {
		if !slices.ContainsFunc(server, func(l string) bool {
			return strings.HasPrefix(l, setting) && strings.Contains(l, "relevel-migrate.service")
		}) {
			t.Errorf("relevel.service: %s has no relevel-migrate.service", setting)
		}
	}
	for _, path := range units(t, "*.service") {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if owner := strings.Contains(string(text), "owner-url"); owner != (filepath.Base(path) == "relevel-migrate.service") {
			t.Errorf("%s names the owner's address: %v", filepath.Base(path), owner)
		}
		if strings.Contains(string(text), "\nRemoveIPC=yes") {
			t.Errorf("%s would take the shared memory of the private Postgres away", filepath.Base(path))
		}
	}
}
