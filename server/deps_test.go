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
		"relevel/events":               "the Log and the Photos it serves",
		"relevel/events/proof":         "checkpoints and proofs, and the store that keeps them",
		"relevel/jobs":                 "the fold and the Store it serves",
		"relevel/jobs/answers":         "what owners ask",
		"relevel/jobs/sheet":           "level book and plan as CSV",
		"relevel/levelling":            "input errors become problem details; figures",
		"relevel/jobs/bundle":          "a job as a file that anybody checks",
		"relevel/levelling/calc":       "the calculators over HTTP",
		"relevel/levelling/underfloor": "what a schedule to price from reckons with",
		"relevel/server/drawing":       "the floor in plan",
		"relevel/server/icalendar":     "the crews' calendars",
		"relevel/server/hooks":         "who is told of what happens",
		"relevel/server/openapi":       "writes the API down",
		"relevel/server/pack":          "the owner's account on paper",
		"relevel/server/passwords":     "how passwords are kept",
		"relevel/server/pictures":      "thumbnails of photos",
		"relevel/server/signing":       "signs checkpoints",
		"relevel/server/tasks":         "what is done behind the requests",
		"relevel/server/watch":         "how it lets itself be seen at work",
		"relevel/server/web":           "pages",
	},
	"relevel/server/passwords": {
		"relevel/events": "the error of what is too busy",
		"relevel/jobs":   "the salt of a name",
	},
	"relevel/server/openapi": {},
	"relevel/server/signing": {
		"relevel/events":       "the log that it signs",
		"relevel/events/proof": "checkpoints, and the store that keeps them",
		"relevel/levelling":    "errors that name a field and its cure",
	},
	"relevel/server/pdf": {},
	"relevel/server/pack": {
		"relevel/events":       "ids of photos and sentinels",
		"relevel/jobs":         "figures, and the words of a region",
		"relevel/jobs/answers": "the account that it prints",
		"relevel/levelling":    "the units of its tables",
		"relevel/server/inked": "drawings on paper",
		"relevel/server/pdf":   "the document",
	},
	"relevel/server/inked": {
		"relevel/server/pdf": "the page that it draws on",
		"relevel/server/web": "the styles of drawings",
	},
	"relevel/server/tasks": {
		"relevel/events":       "ids and sentinels",
		"relevel/server/watch": "how it lets itself be seen at work",
	},
	"relevel/server/watch": {
		"relevel/events": "the store of photos, which it looks at from outside",
	},
	"relevel/server/metrics": {
		"relevel/server/census": "what is counted over all firms",
		"relevel/server/watch":  "is its Meter",
	},
	"relevel/server/tracing": {
		"relevel/server/watch": "is its Tracer",
	},
	"relevel/server/census": {
		"relevel/server/watch": "its lines say what they are about",
	},
	"relevel/server/census/pgcensus": {
		"relevel/events/pgdb":   "the pool of the role that counts",
		"relevel/server/census": "what it counts",
	},
	"relevel/server/tasks/taskstest": {
		"relevel/events":       "ids and sentinels",
		"relevel/server/tasks": "one suite for every Queue",
	},
	"relevel/server/pgbell": {
		"relevel/events":      "ids of firms",
		"relevel/events/pgdb": "the pool, and an address to listen at",
	},
	"relevel/server/tasks/pgtasks": {
		"relevel/events":       "ids and sentinels",
		"relevel/events/pgdb":  "the pools of two roles",
		"relevel/jobs":         "how far a job's log goes",
		"relevel/server/tasks": "is a Queue",
	},
	"relevel/server/hooks": {
		"relevel/events":       "the log, from which it is told",
		"relevel/jobs":         "hooks and how far they were told",
		"relevel/levelling":    "errors that name a field and its cure",
		"relevel/server/tasks": "the tasks that tell",
	},
	"relevel/server/smtpmail": {
		"relevel/levelling": "errors that name a field and its cure",
		"relevel/server":    "the Mailer that it is",
	},
	"relevel/server/pictures": {
		"relevel/events":    "limits and types of photos",
		"relevel/levelling": "errors that name a field and its cure",
	},
	"relevel/server/drawing": {
		"relevel/events":    "the plan it draws",
		"relevel/jobs":      "the state it draws on it",
		"relevel/levelling": "lengths as people read them",
	},
	"relevel/server/web": {
		"relevel/jobs/answers":         "what an owner is told",
		"relevel/jobs/sheet":           "what is wrong with a line of a sheet",
		"relevel/events":               "the book of events",
		"relevel/jobs":                 "shows its state",
		"relevel/levelling":            "lengths as people read them",
		"relevel/levelling/underfloor": "the rules that packers are held against",
		"relevel/server/drawing":       "the floor in plan",
	},
}

func TestImports(t *testing.T) { depstest.Imports(t, ".", "relevel/server", allowed) }

// What is deployed is imported by the program alone, and stands to the right of the nouns.
func TestDeployImports(t *testing.T) {
	depstest.Imports(t, "../deploy", "relevel/deploy", map[string]depstest.Reasons{
		"relevel/deploy/backups": {
			"relevel/events/pgdb/localpg": "the programs of Postgres, and the one that a base is restored into",
			"relevel/events":              "the photos that are copied, by digest",
			"relevel/events/dirphotos":    "is how photos lie in a folder of backups",
			"relevel/events/pgaudit":      "a restored database is held against what was signed",
			"relevel/events/pgdb":         "roles and schema of a restored database",
			"relevel/levelling":           "a wrong setting is an error that names its cure",
		},
	})
}
