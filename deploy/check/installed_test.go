//go:build installed

package check

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/compose-spec/compose-go/v2/types"
	"github.com/moby/buildkit/frontend/dockerfile/instructions"
)

// container runs the image's program as a container would: in a root that has only what
// the image has and that nobody writes to, as the image's account, with the environment
// of a service of the compose file, the folders and secrets that the service mounts, and
// nothing else. There is not even /proc.
type container struct {
	root    string
	volumes map[string]string // where they lie, by where they are seen
	secrets string
	env     map[string]string // what differs from the compose file on one machine
}

// inside mounts what a container sees over its root, then becomes its account. It is a
// process of its own, so that the mounts go with it.
const inside = `
mount --bind "$1" "$1" && mount -o remount,bind,ro "$1"
mount -t tmpfs -o mode=0755 tmpfs "$1/run" && mkdir "$1/run/secrets"
for name in $5; do : >"$1/run/secrets/$name" && mount --bind "$2/$name" "$1/run/secrets/$name"; done
mount -o remount,ro "$1/run"
mount --bind "$3" "$1/var/lib/relevel"
mount --bind "$4" "$1/tmp"
shift 5
exec env -i "$@"`

func (c *container) command(t *testing.T, s types.ServiceConfig, args ...string) *exec.Cmd {
	t.Helper()
	stages := dockerfile(t)
	image := stages[len(stages)-1]
	env := map[string]string{}
	for _, e := range last[*instructions.EnvCommand](t, image).Env {
		env[e.Key] = e.Value
	}
	for name, value := range s.Environment {
		env[name] = *value
	}
	for name, value := range c.env {
		if _, set := env[name]; set {
			env[name] = value
		}
	}
	secrets := []string{"wrong-url"}
	for _, secret := range s.Secrets {
		secrets = append(secrets, secret.Source)
	}
	line := []string{"--mount", "--propagation", "private", "sh", "-euc", inside, "sh", c.root, c.secrets,
		c.volumes["/var/lib/relevel"], c.volumes["/tmp"], strings.Join(secrets, " ")}
	for name, value := range env {
		line = append(line, name+"="+value)
	}
	line = append(line, "/usr/sbin/chroot", "--userspec="+last[*instructions.UserCommand](t, image).User, "--groups=", c.root)
	if len(args) == 0 {
		args = s.Command
	}
	line = append(line, last[*instructions.EntrypointCommand](t, image).CmdLine...)
	return exec.Command("unshare", append(line, args...)...)
}

// newContainer lays out the root, volumes and secrets.
func newContainer(t *testing.T, root, secrets string) *container {
	t.Helper()
	c := &container{root: root, secrets: secrets, volumes: map[string]string{}}
	if err := os.MkdirAll(filepath.Join(root, "run"), 0o755); err != nil {
		t.Fatal(err)
	}
	base := filepath.Dir(root)
	for at, name := range map[string]string{"/var/lib/relevel": "keys", "/tmp": "uploads"} {
		c.volumes[at] = filepath.Join(base, name)
		if out, err := exec.Command("cp", "-a", "-T", filepath.Join(root, at), c.volumes[at]).CombinedOutput(); err != nil {
			t.Fatalf("%v %s", err, out)
		}
	}
	return c
}

// TestImageSteps goes the way of docker-compose.yml without Docker: the image's build is
// run, and what it makes is started against a Postgres that asks for passwords and the S3
// server, with the secrets that the script makes.
func TestImageSteps(t *testing.T) {
	root := buildImage(t)
	secrets := filepath.Join(filepath.Dir(root), "secrets")
	makeSecrets(t, secrets)
	p := compose(t)
	c := newContainer(t, root, secrets)
	listen := fmt.Sprintf("127.0.0.1:%d", freePort(t))
	c.env = map[string]string{"RELEVEL_S3_ENDPOINT": "http://" + startPhotos(t, p.Services["photos"], secrets)}

	for range 2 { // at each start again
		if out, err := c.command(t, p.Services["migrate"]).CombinedOutput(); err != nil || !strings.Contains(string(out), "the schema is at version") {
			t.Fatalf("migrate: %v %s", err, out)
		}
	}
	server := p.Services["relevel"]
	c.env["RELEVEL_DATABASE_URL_FILE"] = "/run/secrets/wrong-url"
	if out, err := c.command(t, server, "firm", "add", "Level Best").CombinedOutput(); err == nil || !strings.Contains(string(out), "password authentication failed") {
		t.Errorf("with a password that is none: %v %s", err, out)
	}
	delete(c.env, "RELEVEL_DATABASE_URL_FILE")
	args := slices.Clone(server.Command)
	args[slices.Index(args, ":8080")] = listen
	args[slices.Index(args, ":9090")] = fmt.Sprintf("127.0.0.1:%d", freePort(t))
	end := start(t, c.command(t, server, args...))
	out, err := c.command(t, server, "ready", "--wait", patience.String(), "http://"+listen).CombinedOutput()
	if err != nil || !strings.Contains(string(out), "database  ok\n") || !strings.Contains(string(out), "photos    ok\n") {
		t.Fatalf("ready: %v %s", err, out)
	}
	if out, err := c.command(t, server, "firm", "--words", "NZ", "add", "Level Best").CombinedOutput(); err != nil || !strings.Contains(string(out), "https://"+host+"/invitation#") {
		t.Errorf("firm add: %v %s", err, out)
	}
	wantStamped(t, "http://"+listen)
	if _, err := os.Stat(filepath.Join(c.volumes["/var/lib/relevel"], "signing-keys")); err != nil {
		t.Errorf("it made no keys: %v", err)
	}
	if err := end(syscall.SIGTERM); err != nil {
		t.Errorf("told to stop it ended with %v", err)
	}
	if out, err := c.command(t, server, "ready", "http://"+listen).CombinedOutput(); err == nil {
		t.Errorf("after its end it is ready: %s", out)
	}
}

// wantStamped looks whether the server says the version that it was built with.
func wantStamped(t *testing.T, url string) {
	t.Helper()
	resp, err := http.Get(url + "/healthz")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	var says struct{ Version string }
	if err := json.NewDecoder(resp.Body).Decode(&says); err != nil || !strings.HasSuffix(says.Version, "+steps") {
		t.Errorf("it says that it is %q, %v", says.Version, err)
	}
}

// makeSecrets makes secrets as somebody without Docker does, and a Postgres with the
// superuser's password that they name.
func makeSecrets(t *testing.T, dir string) {
	t.Helper()
	script := filepath.Join(absolute(t, top), "deploy", "secrets.sh")
	if out, err := exec.Command(script, "--to", dir, "--database", "at").CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	address := startPostgres(t, filepath.Join(dir, "postgres-password"))
	urls, err := filepath.Glob(filepath.Join(dir, "*-url"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range urls {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		writeSecret(t, dir, filepath.Base(path), strings.Replace(string(text), "@at/", "@"+address+"/", 1))
	}
	writeSecret(t, dir, "wrong-url", "postgres://relevel_app:wrong@"+address+"/relevel")
}

func writeSecret(t *testing.T, dir, name, text string) {
	t.Helper()
	path := filepath.Join(dir, name)
	os.Remove(path)
	if err := os.WriteFile(path, []byte(text), 0o444); err != nil {
		t.Fatal(err)
	}
}
