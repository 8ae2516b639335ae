package events_test

import (
	"testing"

	"relevel/levelling/depstest"
)

// allowed says what each package of this noun may import of our own. The
// adapters know events and the database, never each other.
var allowed = map[string]depstest.Reasons{
	"relevel/events": {
		"relevel/levelling": "lengths, and errors that name a field and its cure",
	},
	"relevel/events/eventstest": {
		"relevel/events":       "one suite for every Log, Objects and Ledger",
		"relevel/events/scrub": "the model of photos has them read back",
		"relevel/levelling":    "the suites look for errors that name a field",
	},
	"relevel/events/pgdb": {
		"relevel/events": "translates the driver's errors into its sentinels; firms are its ids",
	},
	"relevel/events/pgdb/localpg": {},
	"relevel/events/pgdb/pgtest": {
		"relevel/events/pgdb/localpg": "starts the private server that the tests share",
		"relevel/events":              "firms are its ids",
		"relevel/events/pgdb":         "opens and migrates a database for one test",
	},
	"relevel/events/pglog": {
		"relevel/events":      "is a Log",
		"relevel/events/pgdb": "the pool, the firm of a transaction, the driver's errors",
	},
	"relevel/events/dirphotos": {
		"relevel/events": "is an Objects",
	},
	"relevel/events/pgproof": {
		"relevel/events":       "firms, jobs, and the sentinels of stores",
		"relevel/events/pgdb":  "the pool, the firm of a transaction, the driver's errors",
		"relevel/events/proof": "is a Store",
	},
	"relevel/events/pgaudit": {
		"relevel/events":       "leaves, frontiers, and what a record says was erased",
		"relevel/events/proof": "opens the checkpoints that were signed",
	},
	"relevel/events/proof": {
		"relevel/events": "hashes of leaves, and the ids that name a log",
	},
	"relevel/events/proof/prooftest": {
		"relevel/events":       "firms, jobs, and the sentinels of stores",
		"relevel/events/proof": "one suite for every Store",
	},
	"relevel/events/scrub": {
		"relevel/events": "reads back what Photos keeps",
	},
	"relevel/events/s3photos": {
		"relevel/events":    "is an Objects",
		"relevel/levelling": "a wrong setting is an error that names its field",
	},
	"relevel/events/s3photos/s3test": {
		"relevel/events/s3photos": "says how to reach the server it starts",
	},
}

func TestImports(t *testing.T) { depstest.Imports(t, ".", "relevel/events", allowed) }

// readsClock excuses packages whose time is about the machine, never about an
// event.
var readsClock = depstest.Reasons{
	"relevel/events/dirphotos":    "the age of half-written files, stamped by the same machine's file system",
	"relevel/events/pgdb/localpg": "how long a process takes to start and to end, and how often it ended of late",
	"relevel/events/pgdb/pgtest":  "how long a server of a test may take to start",
}

func TestNoClock(t *testing.T) { depstest.NoClock(t, ".", "relevel/events", readsClock) }

func TestRunsOnPhone(t *testing.T) { depstest.RunsOnPhone(t, "relevel/events", "relevel/events/proof") }
