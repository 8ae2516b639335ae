package server_test

import (
	"testing"

	"relevel/levelling/depstest"
)

// allowed says what each package of this noun may import of our own. The
// server takes interfaces: of the adapters only its benchmark, a program,
// knows any.
var allowed = map[string]depstest.Reasons{
	"relevel/server": {
		"relevel/events":          "the Log and the Photos it serves",
		"relevel/jobs":            "the fold and the Store it serves",
		"relevel/levelling":       "input errors become problem details; figures",
		"relevel/levelling/calc":  "the calculators over HTTP",
		"relevel/server/pictures": "thumbnails of photos",
		"relevel/server/web":      "pages",
	},
	"relevel/server/pictures": {
		"relevel/events":    "limits and types of photos",
		"relevel/levelling": "errors that name a field and its cure",
	},
	"relevel/server/web": {
		"relevel/events":    "the book of events",
		"relevel/jobs":      "draws its state",
		"relevel/levelling": "lengths as people read them",
	},
	"relevel/server/bench": {
		"relevel/deploy/localpg":     "measures on a private server",
		"relevel/events":             "the events it appends",
		"relevel/events/dirphotos":   "a program wires adapters, as cmd does",
		"relevel/events/pgdb":        "a program wires adapters, as cmd does",
		"relevel/events/pgdb/pgtest": "an isolated database to measure on",
		"relevel/events/pglog":       "a program wires adapters, as cmd does",
		"relevel/events/s3photos":    "measured against a bare client",
		"relevel/jobs":               "folds per second",
		"relevel/jobs/jobstest":      "the events of invented jobs",
		"relevel/jobs/pgjobs":        "a program wires adapters, as cmd does",
		"relevel/levelling":          "lengths",
		"relevel/server":             "what is measured",
	},
}

func TestImports(t *testing.T) { depstest.Imports(t, ".", "relevel/server", allowed) }

// What stands beside the nouns and is imported by their tests must import
// nothing of ours, or arrows would turn round through it.
func TestDeployImportsNothingOfOurs(t *testing.T) {
	depstest.Imports(t, "../deploy", "relevel/deploy", nil)
}
