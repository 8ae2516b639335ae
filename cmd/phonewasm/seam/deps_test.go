package seam_test

import (
	"testing"

	"relevel/levelling/depstest"
)

// What the phone downloads holds no store, no server and no photo.
func TestImports(t *testing.T) {
	depstest.Imports(t, ".", "relevel/cmd/phonewasm/seam", map[string]depstest.Reasons{
		"relevel/cmd/phonewasm/seam": {
			"relevel/events":         "reads what was sealed on the phone and what the server lists",
			"relevel/jobs":           "the fold",
			"relevel/levelling":      "errors that name a field and its cure",
			"relevel/levelling/calc": "the calculators",
			"relevel/server/drawing": "the floor as the server's pages draw it",
		},
	})
}

func TestNoClock(t *testing.T) { depstest.NoClock(t, ".", "relevel/cmd/phonewasm/seam", nil) }

func TestRunsOnPhone(t *testing.T) { depstest.RunsOnPhone(t, "relevel/cmd/phonewasm/seam") }
