package server_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/server"
	"relevel/server/pgbell"
)

// beforeAnyFirm are the tables that are asked before it is known for which firm. Why,
// the catalogue test says.
var beforeAnyFirm = []string{"attempt", "challenge", "pairing", "public_key", "schema_migrations", "sign_in"}

// closesTheWay is what a database on many machines has not, or has for all firms at once.
var closesTheWay = regexp.MustCompile(`(?i)advisory|\bNOTIFY\b|\bUNLISTEN\b|\b(nextval|setval|currval)\b|\bTEMP(ORARY)?\b|\bLOCK TABLE\b|\bDECLARE\b.*\bCURSOR\b|\bdblink\b`)

// tablesOf are the tables that a statement names.
var tablesOf = regexp.MustCompile(`(?i)\b(?:FROM|JOIN|INTO|UPDATE|USING)\s+(?:ONLY\s+)?([a-z_]+)\b`)

// Every door is asked once by whom it opens for, and all that the server sent to the
// database meanwhile is read: nothing that would keep a firm from having a database of its
// own, or many machines from being one (deploy/GROWING.md).
func TestStatements(t *testing.T) {
	t.Parallel()
	log := &logBook{}
	db := pgtest.Logged(t, log)
	clock := newHandClock()
	s := newSiteOn(t, db, withClock(clock), withHooks(t, db), func(c *server.Config) { c.Bell = pgbell.New(db.App) })
	w := newWorld(t, s, clock)
	for _, d := range readingFirst(doors) {
		q := d.request()
		clock.tick()
		w.ask(t, q, w.names)
	}
	sent := statements(log.String())
	if len(sent) < 100 {
		t.Fatalf("%d statements were read: nothing was tested", len(sent))
	}
	t.Logf("%d statements", len(sent))
	known := tablesIn(t, db)
	for statement, role := range sent {
		for _, fault := range statementFaults(statement, role, known) {
			t.Errorf("%s: %s", fault, statement)
		}
	}
}

func statementFaults(statement, role string, known []string) (faults []string) {
	if found := closesTheWay.FindString(statement); found != "" {
		faults = append(faults, "it says "+found)
	}
	if role == pgdb.Worker || strings.Contains(statement, "firm") {
		return faults // the worker looks over all firms for what is due, and sees no more
	}
	for _, m := range tablesOf.FindAllStringSubmatch(statement, -1) {
		if slices.Contains(known, m[1]) && !slices.Contains(beforeAnyFirm, m[1]) {
			faults = append(faults, "it asks "+m[1]+" for no firm")
		}
	}
	return faults
}

// statements reads a server's log: each statement once, with the role that sent it.
func statements(log string) map[string]string {
	sent := map[string]string{}
	var role, text string
	keep := func() {
		if role == pgdb.App || role == pgdb.Worker {
			sent[strings.Join(strings.Fields(text), " ")] = role
		}
	}
	for line := range strings.Lines(log) {
		if rest, goesOn := strings.CutPrefix(line, "\t"); goesOn {
			text += " " + rest
			continue
		}
		keep()
		role, text = "", ""
		said := startOfStatement.FindStringSubmatch(line)
		if said != nil {
			role, text = said[1], said[2]
		}
	}
	keep()
	return sent
}

var startOfStatement = regexp.MustCompile(`^(relevel_\w+): LOG:  (?:execute [^:]*|statement): (.*)`)

func tablesIn(t *testing.T, db *pgtest.DB) (all []string) {
	t.Helper()
	rows, err := db.Connect(pgdb.Owner).Query(t.Context(), `SELECT relname::text FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'`)
	must(t, err)
	for rows.Next() {
		var name string
		must(t, rows.Scan(&name))
		all = append(all, name)
	}
	must(t, rows.Err())
	return all
}

// A statement that closes the way is found.
func TestStatementFaults(t *testing.T) {
	known := []string{"head", "attempt"}
	for statement, want := range map[string]int{
		`SELECT seq FROM head WHERE firm = $1`:     0,
		`SELECT seq FROM head`:                     1,
		`DELETE FROM attempt WHERE of_hash = $1`:   0,
		`SELECT pg_advisory_xact_lock($1)`:         1,
		`SELECT pg_try_advisory_lock(1) FROM head`: 2,
		`NOTIFY anybody`:                           1,
		`CREATE TEMP TABLE mine (n int)`:           1,
		`SELECT nextval('numbers')`:                1,
	} {
		if got := statementFaults(statement, pgdb.App, known); len(got) != want {
			t.Errorf("%s: %q, want %d", statement, got, want)
		}
	}
}
