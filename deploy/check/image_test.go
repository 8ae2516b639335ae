//go:build installed

package check

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/moby/buildkit/frontend/dockerfile/instructions"
)

// buildImage runs what deploy/Dockerfile says, without Docker: the steps that build in a
// folder of their own, then the copies into an empty root, which it returns. Node is that
// of this machine.
func buildImage(t *testing.T) (root string) {
	t.Helper()
	stages := dockerfile(t)
	// Others than root pass through it.
	dir, err := os.MkdirTemp("", "relevel-image-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	source, root := filepath.Join(dir, "src"), filepath.Join(dir, "root")
	copyContext(t, source)
	runSteps(t, stageNamed(t, stages, "build"), source)
	for _, c := range stages[len(stages)-1].Commands {
		if c, is := c.(*instructions.CopyCommand); is {
			copyInto(t, c, source, root)
		}
	}
	return root
}

// copyContext lays what the build sees into a folder.
func copyContext(t *testing.T, to string) {
	t.Helper()
	ignored := ignoredByBuild(t)
	for _, path := range treeFiles(t) {
		if ignored(path) {
			continue
		}
		if err := os.MkdirAll(filepath.Dir(filepath.Join(to, path)), 0o755); err != nil {
			t.Fatal(err)
		}
		text, err := os.ReadFile(filepath.Join(top, path))
		if err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(filepath.Join(top, path))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(to, path), text, info.Mode().Perm()); err != nil {
			t.Fatal(err)
		}
	}
}

// runSteps runs the commands of a stage in order; those before WORKDIR set its tools up.
func runSteps(t *testing.T, stage instructions.Stage, dir string) {
	t.Helper()
	at := slices.IndexFunc(stage.Commands, func(c instructions.Command) bool {
		_, is := c.(*instructions.WorkdirCommand)
		return is
	})
	env := append(os.Environ(), "GOFLAGS=", "GOWORK=off")
	for _, c := range stage.Commands[at+1:] {
		switch c := c.(type) {
		case *instructions.ArgCommand:
			env = append(env, c.Args[0].Key+"=steps")
		case *instructions.RunCommand:
			cmd := exec.Command("/bin/sh", "-c", strings.Join(c.CmdLine, " "))
			cmd.Dir, cmd.Env = dir, env
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("%s: %v\n%s", c.CmdLine, err, out)
			}
		}
	}
}

// copyInto does one COPY of the image. What the build made lies under /src, the rest
// comes from this machine, which is a Debian as the base is.
func copyInto(t *testing.T, c *instructions.CopyCommand, source, root string) {
	t.Helper()
	for _, from := range c.SourcePaths {
		if rest, built := strings.CutPrefix(from, "/src/"); built {
			from = filepath.Join(source, rest)
		}
		to := filepath.Join(root, c.DestPath)
		info, err := os.Stat(from)
		if err != nil {
			t.Fatalf("the build left no %s: %v", from, err)
		}
		if strings.HasSuffix(c.DestPath, "/") {
			to = filepath.Join(to, filepath.Base(from))
		}
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command("cp", "-a", "-T", from, to).CombinedOutput(); err != nil {
			t.Fatalf("%v %s", err, out)
		}
		owner := "0:0"
		if c.Chown != "" {
			owner = c.Chown
		}
		if out, err := exec.Command("chown", "-R", owner, to).CombinedOutput(); err != nil {
			t.Fatalf("%v %s", err, out)
		}
		if info.IsDir() != (c.Chown != "") {
			t.Errorf("%s: only folders are given away", to)
		}
	}
}

// treeFiles are the paths of the tree, those about to be committed included.
func treeFiles(t *testing.T) []string {
	t.Helper()
	cmd := exec.Command("git", "-c", "safe.directory=*", "ls-files", "-z", "--cached", "--others", "--exclude-standard")
	cmd.Dir = top
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var paths []string
	for path := range strings.SplitSeq(strings.TrimRight(string(out), "\x00"), "\x00") {
		if _, err := os.Lstat(filepath.Join(top, path)); err == nil {
			paths = append(paths, path)
		}
	}
	return paths
}
