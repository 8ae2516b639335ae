package levelling_test

import (
	"testing"

	"relevel/levelling/depstest"
)

// allowed says what each package of this noun may import of our own.
// levelling itself stands leftmost and imports none of it.
var allowed = map[string]depstest.Reasons{
	"relevel/levelling/beam": {
		"relevel/levelling": "errors name the field and the cure",
	},
	"relevel/levelling/calc": {
		"relevel/levelling":            "the calculators put the arithmetic into JSON",
		"relevel/levelling/beam":       "bearers on their supports",
		"relevel/levelling/rounds":     "single moves",
		"relevel/levelling/underfloor": "the handbook figures around a support",
	},
	"relevel/levelling/underfloor": {
		"relevel/levelling": "errors name the field and the cure",
	},
	"relevel/levelling/rounds": {
		"relevel/levelling": "errors name the field and the cure",
	},
}

func TestImports(t *testing.T) { depstest.Imports(t, ".", "relevel/levelling", allowed) }

func TestNoClock(t *testing.T) { depstest.NoClock(t, ".", "relevel/levelling", nil) }

func TestRunsOnPhone(t *testing.T) { depstest.RunsOnPhone(t, "relevel/levelling/...") }
