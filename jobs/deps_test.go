package jobs_test

import (
	"testing"

	"relevel/levelling/depstest"
)

// allowed says what each package of this noun may import of our own.
var allowed = map[string]depstest.Reasons{
	"relevel/jobs": {
		"relevel/events":               "folds them",
		"relevel/levelling":            "the numbers in a state",
		"relevel/levelling/beam":       "how a lift passes on along a bearer",
		"relevel/levelling/rounds":     "which support is moved next",
		"relevel/levelling/underfloor": "loads, pads, packers",
	},
	"relevel/jobs/answers": {
		"relevel/events":    "the records that the state keeps no words of",
		"relevel/jobs":      "the state and its entries",
		"relevel/levelling": "verdicts, rules and units",
	},
	"relevel/jobs/jobstest": {
		"relevel/events":    "builds the events of invented jobs",
		"relevel/jobs":      "one suite for every Store",
		"relevel/levelling": "lengths",
	},
	"relevel/jobs/bundle": {
		"relevel/events":       "what a bundle holds",
		"relevel/events/proof": "checkpoints and proofs of its log",
		"relevel/jobs":         "folds the records anew, and whose they are",
		"relevel/levelling":    "units",
	},
	"relevel/jobs/sheet": {
		"relevel/events":    "what a sheet becomes, and is made of",
		"relevel/jobs":      "weighs a book against the job, people by name",
		"relevel/levelling": "lengths, and a run's arithmetic check",
	},
	"relevel/jobs/pgjobs": {
		"relevel/events":      "ids and sentinels",
		"relevel/events/pgdb": "the pool, the firm of a transaction, the driver's errors",
		"relevel/jobs":        "is a Store",
	},
}

func TestImports(t *testing.T) { depstest.Imports(t, ".", "relevel/jobs", allowed) }

func TestNoClock(t *testing.T) { depstest.NoClock(t, ".", "relevel/jobs", nil) }

func TestRunsOnPhone(t *testing.T) { depstest.RunsOnPhone(t, "relevel/jobs", "relevel/jobs/bundle") }
