package check

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/moby/patternmatcher"
	"github.com/moby/patternmatcher/ignorefile"
)

// ignoredByBuild tells of a path whether the build of the image does not see it.
func ignoredByBuild(t *testing.T) func(path string) bool {
	t.Helper()
	f, err := os.Open(filepath.Join(top, ".dockerignore"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	patterns, err := ignorefile.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	matcher, err := patternmatcher.New(patterns)
	if err != nil {
		t.Fatal(err)
	}
	return func(path string) bool {
		ignored, err := matcher.MatchesOrParentMatches(path)
		if err != nil {
			t.Fatal(err)
		}
		return ignored
	}
}
