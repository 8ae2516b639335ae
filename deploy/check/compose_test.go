package check

import (
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/compose-spec/compose-go/v2/cli"
	"github.com/compose-spec/compose-go/v2/types"
	"github.com/google/go-cmp/cmp"
)

// top is the folder of the whole tree.
const top = "../.."

// host is the name of the installation that the tests read.
const host = "levels.example"

// compose is the project of docker-compose.yml as Compose itself reads it, every profile
// in it.
func compose(t *testing.T) *types.Project {
	t.Helper()
	options, err := cli.NewProjectOptions([]string{filepath.Join(top, "docker-compose.yml")},
		cli.WithEnv([]string{"RELEVEL_HOST=" + host}), cli.WithProfiles([]string{"*"}))
	if err != nil {
		t.Fatal(err)
	}
	project, err := options.LoadProject(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if len(project.Services) < 6 {
		t.Fatalf("only %d services", len(project.Services))
	}
	return project
}

// runsOnce tells whether a service ends by itself.
func runsOnce(s types.ServiceConfig) bool { return s.Restart == "no" }

// Without a name for the server nothing starts, and what to do is said.
func TestComposeWantsAName(t *testing.T) {
	t.Parallel()
	options, err := cli.NewProjectOptions([]string{filepath.Join(top, "docker-compose.yml")}, cli.WithEnv(nil))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := options.LoadProject(t.Context()); err == nil || !strings.Contains(err.Error(), "deploy/secrets.sh") {
		t.Errorf("without RELEVEL_HOST: %v, want it to say what to run", err)
	}
}

// Each service runs hardened, is looked after, bounded, and stops in peace.
func TestComposeServices(t *testing.T) {
	t.Parallel()
	added := map[string][]string{"caddy": {"NET_BIND_SERVICE"}} // the port 80 and 443
	for name, s := range compose(t).Services {
		if !s.ReadOnly || !slices.Equal(s.CapDrop, []string{"ALL"}) || !slices.Contains(s.SecurityOpt, "no-new-privileges:true") || s.Privileged {
			t.Errorf("%s is not hardened: read-only %v, without %v, %v", name, s.ReadOnly, s.CapDrop, s.SecurityOpt)
		}
		if diff := cmp.Diff(added[name], s.CapAdd); diff != "" {
			t.Errorf("%s has other capabilities (-want +got):\n%s", name, diff)
		}
		checked := s.HealthCheck != nil && !s.HealthCheck.Disable && len(s.HealthCheck.Test) > 1 && s.HealthCheck.Test[0] == "CMD"
		if checked == runsOnce(s) {
			t.Errorf("%s: health check %v, and it runs once: %v; just one of the two has to be", name, checked, runsOnce(s))
		}
		if !runsOnce(s) && (s.Restart != "unless-stopped" || s.StopGracePeriod == nil) {
			t.Errorf("%s restarts %q and is given %v to stop", name, s.Restart, s.StopGracePeriod)
		}
		if d := s.Deploy; d == nil || d.Resources.Limits == nil || d.Resources.Limits.MemoryBytes == 0 || d.Resources.Limits.Pids == 0 || d.Resources.Limits.NanoCPUs == 0 {
			t.Errorf("%s is not bounded", name)
		}
		if s.Logging == nil || s.Logging.Options["max-size"] == "" {
			t.Errorf("%s: its log grows without bound", name)
		}
	}
}

var pinned = regexp.MustCompile(`^[a-z0-9./-]+:v?\d+\.\d+(\.\d+)?(-[a-z0-9.-]+)?$`)

// Every image is built here or pinned by its version.
func TestComposeImages(t *testing.T) {
	t.Parallel()
	for name, s := range compose(t).Services {
		switch {
		case s.Build != nil && (s.Build.Dockerfile != "deploy/Dockerfile" || s.Image != "relevel:local"+map[string]string{"backup": "-backup"}[s.Build.Target]):
			t.Errorf("%s is built by %s as %s", name, s.Build.Dockerfile, s.Image)
		case s.Build == nil && !pinned.MatchString(s.Image):
			t.Errorf("%s runs %s, which is not pinned", name, s.Image)
		}
	}
}

var credentials = regexp.MustCompile(`://[^/]*:[^/]*@`)

// No secret stands in an environment: those are named by files, which are mounted; and
// what is mounted is used.
func TestComposeSecrets(t *testing.T) {
	t.Parallel()
	p := compose(t)
	for name, s := range p.Services {
		var given, used []string
		for _, secret := range s.Secrets {
			given = append(given, secret.Source)
		}
		for key, value := range s.Environment {
			switch {
			case value == nil:
				t.Errorf("%s takes %s from whoever starts it", name, key)
			case strings.HasSuffix(key, "_FILE"):
				used = append(used, strings.TrimPrefix(*value, "/run/secrets/"))
			case regexp.MustCompile("PASSWORD|SECRET|KEY|TOKEN").MatchString(key) || credentials.MatchString(*value):
				t.Errorf("%s: %s holds a secret: name its file", name, key)
			}
		}
		for _, found := range regexp.MustCompile(`/run/secrets/([a-z0-9-]+)`).FindAllStringSubmatch(strings.Join(s.Command, " "), -1) {
			used = append(used, found[1])
		}
		slices.Sort(given)
		slices.Sort(used)
		if diff := cmp.Diff(slices.Compact(used), given); diff != "" {
			t.Errorf("%s: secrets that it uses (-) and is given (+):\n%s", name, diff)
		}
	}
	mayHold := map[string][]string{
		"postgres-password": {"database"}, "admin-url": {"migrate", "restore"}, "owner-url": {"migrate", "restore"},
		"eraser-url": {"erase", "migrate"}, "backup-url": {"backup", "migrate"},
	}
	for secret, want := range mayHold {
		var got []string
		for name, s := range p.Services {
			if slices.ContainsFunc(s.Secrets, func(c types.ServiceSecretConfig) bool { return c.Source == secret }) {
				got = append(got, name)
			}
		}
		slices.Sort(got)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("who holds %s (-want +got):\n%s", secret, diff)
		}
	}
}

// What the script makes is what the file names. Run again it changes nothing, and what
// was removed is made anew.
func TestSecretsScript(t *testing.T) {
	t.Parallel()
	tree := t.TempDir()
	script := filepath.Join(tree, "deploy", "secrets.sh")
	text, err := os.ReadFile(filepath.Join(top, "deploy", "secrets.sh"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Dir(script), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(script, text, 0o755); err != nil {
		t.Fatal(err)
	}
	first := runSecrets(t, script, host)
	var names []string
	for name, secret := range compose(t).Secrets {
		names = append(names, name)
		if secret.File != filepath.Join(absolute(t, top), "deploy", "secrets", name) {
			t.Errorf("%s lies at %s", name, secret.File)
		}
	}
	slices.Sort(names)
	if diff := cmp.Diff(names, slices.Sorted(maps.Keys(first))); diff != "" {
		t.Errorf("named in the file (-) and made (+):\n%s", diff)
	}
	if env, err := os.ReadFile(filepath.Join(tree, ".env")); err != nil || string(env) != "RELEVEL_HOST="+host+"\n" {
		t.Errorf(".env is %q, %v", env, err)
	}
	if diff := cmp.Diff(first, runSecrets(t, script, host)); diff != "" {
		t.Errorf("run again it changed:\n%s", diff)
	}
	if err := os.Remove(filepath.Join(tree, "deploy", "secrets", "app-url")); err != nil {
		t.Fatal(err)
	}
	if again := runSecrets(t, script, host); again["app-url"] == first["app-url"] || again["app-url"] == "" {
		t.Errorf("app-url was %q and is %q", first["app-url"], again["app-url"])
	}
	if out, err := exec.Command(script, "another.example").CombinedOutput(); err == nil {
		t.Errorf("another name was taken: %s", out)
	}
	for _, args := range [][]string{{}, {"--to"}, {"--database", "db"}, {"--what"}, {"one", "two"}} {
		if out, err := exec.Command(script, args...).CombinedOutput(); err == nil || !strings.Contains(string(out), "usage:") {
			t.Errorf("%q: %v %s", args, err, out)
		}
	}
}

// runSecrets runs the script and reads what it made; only its own folder is closed, so
// that accounts of containers can read what they are given.
func runSecrets(t *testing.T, script string, args ...string) map[string]string {
	t.Helper()
	if out, err := exec.Command(script, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	dir := filepath.Join(filepath.Dir(script), "secrets")
	if info, err := os.Stat(dir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the folder: %v, %v", info, err)
	}
	return readSecrets(t, dir)
}

func readSecrets(t *testing.T, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	made := map[string]string{}
	for _, e := range entries {
		text, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if info, err := e.Info(); err != nil || info.Mode().Perm() != 0o444 {
			t.Errorf("%s: %v, %v", e.Name(), info, err)
		}
		made[e.Name()] = string(text)
	}
	return made
}

func absolute(t *testing.T, path string) string {
	t.Helper()
	whole, err := filepath.Abs(path)
	if err != nil {
		t.Fatal(err)
	}
	return whole
}

// Only the proxy can be reached, the stores reach nobody, and who is believed about
// where a request comes from is the network that the proxy is in.
func TestComposeNetworks(t *testing.T) {
	t.Parallel()
	p := compose(t)
	if !p.Networks["back"].Internal || p.Networks["front"].Internal {
		t.Error("back is internal and front is not")
	}
	want := map[string][]string{"front": {"caddy", "relevel"}, "back": {"backup", "database", "erase", "migrate", "photos", "relevel", "restore"}}
	got := map[string][]string{}
	for name, s := range p.Services {
		for network := range s.Networks {
			got[network] = append(got[network], name)
		}
		if (len(s.Ports) > 0) != (name == "caddy") {
			t.Errorf("%s has the ports %v", name, s.Ports)
		}
	}
	for network := range got {
		slices.Sort(got[network])
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("networks (-want +got):\n%s", diff)
	}
	if believed := p.Services["relevel"].Environment["RELEVEL_PROXIES"]; *believed != p.Networks["front"].Ipam.Config[0].Subnet {
		t.Errorf("it believes %s, and the proxy is in %s", *believed, p.Networks["front"].Ipam.Config[0].Subnet)
	}
}

// The server starts on a schema that is up to date, and the rest on what is healthy.
func TestComposeOrder(t *testing.T) {
	t.Parallel()
	for name, s := range compose(t).Services {
		for on, d := range s.DependsOn {
			want := types.ServiceConditionHealthy
			if on == "migrate" {
				want = types.ServiceConditionCompletedSuccessfully
			}
			if d.Condition != want || !d.Required {
				t.Errorf("%s waits for %s: %s", name, on, d.Condition)
			}
		}
		if want := map[string]int{"caddy": 1, "relevel": 3, "migrate": 1}[name]; len(s.DependsOn) < want {
			t.Errorf("%s waits for %d others, want %d", name, len(s.DependsOn), want)
		}
	}
}

// What is kept lies in volumes; of this tree only files that are there are mounted.
func TestComposeVolumes(t *testing.T) {
	t.Parallel()
	p := compose(t)
	used := map[string]bool{}
	for name, s := range p.Services {
		for _, v := range s.Volumes {
			switch v.Type {
			case types.VolumeTypeVolume:
				used[v.Source] = true
			case types.VolumeTypeBind:
				if _, err := os.Stat(v.Source); err != nil || !v.ReadOnly {
					t.Errorf("%s mounts %s: read-only %v, %v", name, v.Source, v.ReadOnly, err)
				}
			}
		}
	}
	if diff := cmp.Diff(slices.Sorted(maps.Keys(p.Volumes)), slices.Sorted(maps.Keys(used))); diff != "" {
		t.Errorf("volumes that are there (-) and used (+):\n%s", diff)
	}
}

// A server that is told to stop is not killed before it has let its requests end.
func TestComposeLetsItDrain(t *testing.T) {
	t.Parallel()
	if got, drain := time.Duration(*compose(t).Services["relevel"].StopGracePeriod), drainTime(t); got < drain+20*time.Second {
		t.Errorf("it is given %s to stop and needs %s for its requests", got, drain)
	}
}

// drainTime is what the program says that requests may take.
func drainTime(t *testing.T) time.Duration {
	t.Helper()
	source, err := os.ReadFile(filepath.Join(top, "cmd", "relevel", "instance.go"))
	if err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`finishTime = (\d+) \* time\.Second`).FindSubmatch(source)
	if found == nil {
		t.Fatal("cmd/relevel/instance.go has no finishTime in seconds")
	}
	seconds, err := strconv.Atoi(string(found[1]))
	if err != nil {
		t.Fatal(err)
	}
	return time.Duration(seconds) * time.Second
}
