package check

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/moby/buildkit/client/llb"
	"github.com/moby/buildkit/client/llb/sourceresolver"
	"github.com/moby/buildkit/frontend/dockerfile/dockerfile2llb"
	"github.com/moby/buildkit/frontend/dockerfile/instructions"
	"github.com/moby/buildkit/frontend/dockerfile/parser"
	"github.com/opencontainers/go-digest"
	ocispecs "github.com/opencontainers/image-spec/specs-go/v1"
	"golang.org/x/mod/modfile"
	"golang.org/x/mod/semver"
)

// dockerfile is deploy/Dockerfile, its stages as BuildKit reads them.
func dockerfile(t *testing.T) []instructions.Stage {
	t.Helper()
	tree, err := parser.Parse(bytes.NewReader(dockerfileText(t)))
	if err != nil {
		t.Fatal(err)
	}
	stages, _, err := instructions.Parse(tree.AST, nil)
	if err != nil {
		t.Fatal(err)
	}
	return stages
}

func dockerfileText(t *testing.T) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(top, "deploy", "Dockerfile"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// anyBase stands for what bases say of themselves, which only a registry knows: nothing.
type anyBase struct{}

func (anyBase) ResolveImageConfig(_ context.Context, ref string, _ sourceresolver.Opt) (string, digest.Digest, []byte, error) {
	return ref, "", []byte(`{"architecture":"amd64","os":"linux","config":{"Env":["PATH=/usr/local/bin:/usr/bin:/bin"]}}`), nil
}

// lintDockerfile is what BuildKit's linter says.
func lintDockerfile(t *testing.T, text []byte) (said []string) {
	t.Helper()
	source := llb.NewSourceMap(nil, "Dockerfile", "Dockerfile", text)
	source.Definition = &llb.Definition{}
	results, err := dockerfile2llb.DockerfileLint(t.Context(), text, dockerfile2llb.ConvertOpt{
		MetaResolver: anyBase{}, SourceMap: source,
		TargetPlatform: &ocispecs.Platform{OS: "linux", Architecture: "amd64"},
	})
	if err != nil {
		t.Fatal(err)
	}
	if results.Error != nil {
		said = append(said, results.Error.Message)
	}
	for _, w := range results.Warnings {
		said = append(said, w.RuleName+": "+w.Detail)
	}
	return said
}

// last is the last instruction of its kind in a stage.
func last[T instructions.Command](t *testing.T, s instructions.Stage) T {
	t.Helper()
	for _, c := range slices.Backward(s.Commands) {
		if c, is := c.(T); is {
			return c
		}
	}
	t.Fatalf("%T is missing in the stage %s", *new(T), s.BaseName)
	return *new(T)
}

// BuildKit's linter has nothing to say; it has about what it should.
func TestDockerfileLint(t *testing.T) {
	t.Parallel()
	if said := lintDockerfile(t, dockerfileText(t)); len(said) > 0 {
		t.Errorf("the linter says:\n%s", strings.Join(said, "\n"))
	}
	said := strings.Join(lintDockerfile(t, []byte("FROM debian:12\nENV a b\nENTRYPOINT relevel\nUSER $who\n")), "\n")
	for _, rule := range []string{"LegacyKeyValueFormat", "JSONArgsRecommended", "UndefinedVar"} {
		if !strings.Contains(said, rule) {
			t.Errorf("of what is wrong the linter says nothing by %s: %s", rule, said)
		}
	}
}

// The bases are pinned, and the one that builds has the Go that go.mod asks for.
func TestDockerfileBases(t *testing.T) {
	t.Parallel()
	stages := dockerfile(t)
	for _, s := range stages[:len(stages)-1] {
		if !pinned.MatchString(s.BaseName) || s.Name == "" {
			t.Errorf("the base %q of the stage %q", s.BaseName, s.Name)
		}
	}
	text, err := os.ReadFile(filepath.Join(top, "go.mod"))
	if err != nil {
		t.Fatal(err)
	}
	mod, err := modfile.Parse("go.mod", text, nil)
	if err != nil {
		t.Fatal(err)
	}
	wanted := mod.Go.Version
	if mod.Toolchain != nil {
		wanted = strings.TrimPrefix(mod.Toolchain.Name, "go")
	}
	builds := stageNamed(t, stages, "build").BaseName
	found := regexp.MustCompile(`^golang:(\d+\.\d+\.\d+)-`).FindStringSubmatch(builds)
	if found == nil || semver.Compare("v"+found[1], "v"+wanted) < 0 {
		t.Errorf("it builds with %q, and go.mod wants %s", builds, wanted)
	}
	// pg_dump refuses a server that is newer than itself.
	if dumps, serves := stageNamed(t, stages, "backup").BaseName, compose(t).Services["database"].Image; dumps != serves {
		t.Errorf("backups are made with %s of %s", dumps, serves)
	}
}

func stageNamed(t *testing.T, stages []instructions.Stage, name string) instructions.Stage {
	t.Helper()
	at, found := instructions.HasStage(stages, name)
	if !found {
		t.Fatalf("no stage is called %s", name)
	}
	return stages[at]
}

// The image has no shell, runs as nobody, and what it runs needs no shell.
func TestDockerfileImage(t *testing.T) {
	t.Parallel()
	stages := dockerfile(t)
	image := stages[len(stages)-1]
	if image.BaseName != "scratch" {
		t.Errorf("the image is made from %s", image.BaseName)
	}
	user := last[*instructions.UserCommand](t, image).User
	if !regexp.MustCompile(`^[1-9]\d+:[1-9]\d+$`).MatchString(user) {
		t.Errorf("it runs as %q, want numbers that are not 0", user)
	}
	if entry := last[*instructions.EntrypointCommand](t, image); entry.PrependShell {
		t.Errorf("the entrypoint %q wants a shell", entry.CmdLine)
	}
	if cmd := last[*instructions.CmdCommand](t, image); cmd.PrependShell {
		t.Errorf("the command %q wants a shell", cmd.CmdLine)
	}
	if check := last[*instructions.HealthCheckCommand](t, image); !slices.Equal(check.Health.Test, []string{"CMD", "relevel", "ready"}) {
		t.Errorf("the health check is %q", check.Health.Test)
	}
	for _, c := range image.Commands {
		switch c := c.(type) {
		case *instructions.RunCommand, *instructions.AddCommand:
			t.Errorf("%s in an image that has nothing to run it", c.Name())
		case *instructions.CopyCommand:
			if c.From != "build" || (c.Chown != "" && c.Chown != user) {
				t.Errorf("%v is copied from %q for %q", c.SourcePaths, c.From, c.Chown)
			}
		}
	}
}

// What the server writes to in the compose file are folders that the image gives to
// its account: a new volume takes its owner from there.
func TestDockerfileFolders(t *testing.T) {
	t.Parallel()
	stages := dockerfile(t)
	owned := map[string]bool{}
	for _, c := range stages[len(stages)-1].Commands {
		if c, is := c.(*instructions.CopyCommand); is && c.Chown != "" {
			owned[c.DestPath] = true
		}
	}
	for _, v := range compose(t).Services["relevel"].Volumes {
		if !owned[v.Target] {
			t.Errorf("%s belongs to root in a new volume", v.Target)
		}
	}
	env := last[*instructions.EnvCommand](t, stages[len(stages)-1]).Env
	if !slices.ContainsFunc(env, func(e instructions.KeyValuePair) bool { return e.Key == "XDG_DATA_HOME" && e.Value == "/var/lib" }) {
		t.Errorf("the image says nowhere that its data is in /var/lib/relevel: %v", env)
	}
}

// The account of the image for backups has a name: the Postgres in which a backup is
// restored for a look refuses one that has none.
func TestDockerfileAccount(t *testing.T) {
	t.Parallel()
	stage := stageNamed(t, dockerfile(t), "backup")
	uid, _, _ := strings.Cut(last[*instructions.UserCommand](t, stage).User, ":")
	passwd := filepath.Join(t.TempDir(), "passwd")
	for _, c := range stage.Commands {
		if run, is := c.(*instructions.RunCommand); is {
			line := strings.ReplaceAll(strings.Join(run.CmdLine, " "), "/etc/passwd", passwd)
			if out, err := exec.Command("/bin/sh", "-c", line).CombinedOutput(); err != nil {
				t.Errorf("%s: %v %s", line, err, out)
			}
		}
	}
	text, err := os.ReadFile(passwd)
	if fields := strings.Split(string(text), ":"); err != nil || len(fields) != 7 || fields[0] == "" || fields[2] != uid {
		t.Errorf("%s has the line %q, %v", uid, text, err)
	}
}

// Nothing secret and nothing that was built elsewhere goes into the build.
func TestDockerignore(t *testing.T) {
	t.Parallel()
	ignored := ignoredByBuild(t)
	for path, want := range map[string]bool{
		".env": true, ".git/config": true, "deploy/secrets/app-url": true, "server/web/node_modules/idb/package.json": true,
		"server/web/dist/phone/.built": true, "bin/relevel": true, "server/server_test.go": true,
		"go.mod": false, "Makefile": false, ".ci/need": false, "server/web/dist/README": false, "cmd/relevel/main.go": false,
		"server/web/build.mjs": false, "events/pgdb/migrations/000001_firms.up.sql": false,
	} {
		if got := ignored(path); got != want {
			t.Errorf("%s: ignored %v, want %v", path, got, want)
		}
	}
}
