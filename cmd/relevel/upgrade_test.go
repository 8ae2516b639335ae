package main

import (
	"compress/gzip"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/cmd/relevel/client"
	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
	"relevel/jobs"
)

// earlier is a database of an earlier program with a demo in it, and what has to be
// there after any upgrade. testdata/upgrades/dump makes them.
type earlier struct {
	Schema int            `json:"schema"`
	Token  string         `json:"token"`
	Rows   map[string]int `json:"rows"` // of each table
	Jobs   []struct {
		Job      events.ID         `json:"job"`
		Seq      int64             `json:"seq"`
		Root     string            `json:"root"`
		SetAside int               `json:"set_aside"`
		Supports map[string]string `json:"supports"` // how each stood
	} `json:"jobs"`

	dump string
}

func earlierStates(t *testing.T) (all []earlier) {
	t.Helper()
	files, err := filepath.Glob("testdata/upgrades/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no dumps of earlier schemas: %v", err)
	}
	for _, path := range files {
		text, err := os.ReadFile(path)
		must(t, err)
		e := earlier{dump: strings.TrimSuffix(path, ".json") + ".sql.gz"}
		must(t, json.Unmarshal(text, &e))
		all = append(all, e)
	}
	return all
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// restored is a database as it was dumped.
func (e earlier) restored(t *testing.T) *pgtest.DB {
	t.Helper()
	d := pgtest.Empty(t)
	f, err := os.Open(e.dump)
	must(t, err)
	defer f.Close()
	unpacked, err := gzip.NewReader(f)
	must(t, err)
	sql, err := io.ReadAll(unpacked)
	must(t, err)
	_, err = d.Connect(localpg.Superuser).PgConn().Exec(t.Context(), string(sql)).ReadAll()
	must(t, err)
	return d
}

// A database of any earlier state is brought up to date with all that is in it: every
// row, the exact bytes of every record, and every token.
func TestUpgrades(t *testing.T) {
	for _, e := range earlierStates(t) {
		t.Run(strings.TrimSuffix(filepath.Base(e.dump), ".sql.gz"), func(t *testing.T) {
			d := e.restored(t)
			env := []string{envOwner + "=" + d.DSN(pgdb.Owner), envDatabase + "=" + d.DSN(pgdb.App), envWorker + "=" + d.DSN(pgdb.Worker)}
			if e.Schema < pgdb.Latest() {
				_, errs, err := once(t, env, "serve", "--listen", "127.0.0.1:0", "--data", openFolder(t))
				if want := fmt.Sprintf("the database is at schema version %d and this program needs %d: run relevel migrate", e.Schema, pgdb.Latest()); err == nil || !strings.Contains(errs, want) {
					t.Errorf("before it is migrated a server starts, or says otherwise than %q: %v %s", want, err, errs)
				}
			}
			for range 2 {
				out, errs, err := once(t, env, "migrate")
				if err != nil || out != fmt.Sprintf("the schema is at version %d\n", pgdb.Latest()) {
					t.Fatalf("migrate: %v %s %s", err, out, errs)
				}
			}
			e.keptRows(t, d)
			e.served(t, env)
			sameSchema(t, d)
		})
	}
}

// keptRows looks whether every row is still there.
func (e earlier) keptRows(t *testing.T, d *pgtest.DB) {
	t.Helper()
	conn := d.Connect(localpg.Superuser)
	for table, rows := range e.Rows {
		var now int
		if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM "+table).Scan(&now); err != nil || now != rows {
			t.Errorf("%s has %d rows, and had %d (%v)", table, now, rows, err)
		}
	}
}

// served asks a server of this program for everything.
func (e earlier) served(t *testing.T, env []string) {
	t.Helper()
	set, err := readSettings(openFolder(t), readEnvironment(env))
	must(t, err)
	i, err := start(t.Context(), set, "127.0.0.1:0", slog.New(slog.DiscardHandler))
	must(t, err)
	defer func() { must(t, i.Close()) }()
	firm, _, err := jobs.ParseToken(e.Token)
	must(t, err)
	at := ready{URL: i.url, Token: e.Token}
	for _, j := range e.Jobs {
		all := e.sameRecords(t, i, firm, j.Job)
		if root := rootOf(all); int64(len(all)) != j.Seq || root != j.Root {
			t.Errorf("job %s has %d records with the root %s, and had %d with %s", j.Job, len(all), root, j.Seq, j.Root)
		}
		p := jobs.Refold(j.Job, all).Picture(all[len(all)-1].RecordedAt)
		if len(p.SetAside) != j.SetAside || p.Newer != 0 {
			t.Errorf("job %s: %d records are set aside, and were %d; %d are said to be newer", j.Job, len(p.SetAside), j.SetAside, p.Newer)
		}
		standing := map[string]string{}
		for _, s := range p.Supports {
			standing[s.ID] = string(s.State)
		}
		if diff := cmp.Diff(j.Supports, standing); diff != "" {
			t.Errorf("job %s: supports stand otherwise (-then +now):\n%s", j.Job, diff)
		}
		for _, page := range []string{"", "/book", "/photos", "/state", "/bundle.zip?photos=smaller"} {
			path := "/jobs/" + j.Job.String() + page
			if strings.HasPrefix(page, "/state") || strings.HasPrefix(page, "/bundle") {
				path = "/api/v1" + path
			}
			if status, body := fetch(t, at, path); status != http.StatusOK {
				t.Errorf("%s is answered %d: %.300s", path, status, body)
			}
		}
	}
	e.goesOn(t, i, at)
}

// sameRecords reads a job's log and reckons each leaf anew from the bytes that are kept.
func (e earlier) sameRecords(t *testing.T, i *instance, firm, job events.ID) []events.Stored {
	t.Helper()
	all, err := i.stores.log.Read(t.Context(), firm, job, 0, 10_000)
	must(t, err)
	for _, s := range all {
		again := events.Leaf{Firm: firm, Job: job, Seq: s.Seq, ID: s.Event.ID, Kind: s.Event.Kind, RecordedAt: s.RecordedAt, Commitment: events.Commit(s.Salt, s.Raw)}
		if again.Hash() != s.Leaf {
			t.Fatalf("record %d of job %s has other bytes than it was sealed with", s.Seq, job)
		}
	}
	return all
}

func rootOf(all []events.Stored) string {
	var f events.Frontier
	for _, s := range all {
		f = f.Grow(s.Seq-1, s.Leaf)
	}
	root := f.Root()
	return hex.EncodeToString(root[:])
}

// goesOn records one more line on each job, and opens what the office looks at and
// what an earlier program knew nothing of.
func (e earlier) goesOn(t *testing.T, i *instance, at ready) {
	t.Helper()
	for _, path := range []string{"/", "/people", "/kit", "/devices", "/api/v1/jobs", "/api/v1/people", "/api/v1/lasers", "/api/v1/jacks", "/api/v1/practice", "/api/v1/profiles", "/api/v1/devices", "/api/v1/hooks", "/api/v1/quarantine"} {
		if status, body := fetch(t, at, path); status != http.StatusOK {
			t.Errorf("%s is answered %d: %.300s", path, status, body)
		}
	}
	c := client.New(i.url, e.Token)
	must(t, c.CreateLaser(t.Context(), jobs.Laser{Name: "a laser of after"}))
	for _, j := range e.Jobs {
		before, err := i.stores.log.Head(t.Context(), firmOfToken(t, e.Token), j.Job)
		must(t, err)
		record(t, ready{URL: i.url, Token: e.Token, Job: j.Job})
		after, err := i.stores.log.Head(t.Context(), firmOfToken(t, e.Token), j.Job)
		if err != nil || after.Seq != before.Seq+1 {
			t.Errorf("job %s: one more line moves the head from %d to %d, %v", j.Job, before.Seq, after.Seq, err)
		}
	}
}

func firmOfToken(t *testing.T, token string) events.ID {
	t.Helper()
	firm, _, err := jobs.ParseToken(token)
	must(t, err)
	return firm
}

// sameSchema compares a database that was brought up with one that was made new:
// columns, constraints, indexes, policies, triggers and grants.
func sameSchema(t *testing.T, d *pgtest.DB) {
	t.Helper()
	if diff := cmp.Diff(schemaOf(t, pgtest.New(t)), schemaOf(t, d)); diff != "" {
		t.Errorf("the schema is another than that of a new database (-new +upgraded):\n%s", diff)
	}
}

func schemaOf(t *testing.T, d *pgtest.DB) []string {
	t.Helper()
	rows, err := d.Connect(localpg.Superuser).Query(t.Context(), schemaFacts)
	must(t, err)
	defer rows.Close()
	var facts []string
	for rows.Next() {
		var fact string
		must(t, rows.Scan(&fact))
		facts = append(facts, fact)
	}
	must(t, rows.Err())
	return facts
}

// schemaFacts is a schema as lines, without what depends on the order of its making.
const schemaFacts = `
WITH ours AS (SELECT oid, relname, relkind, relacl, relrowsecurity, relforcerowsecurity, reloptions, relowner FROM pg_class
              WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'v', 'm', 'p', 'S'))
SELECT fact FROM (
  SELECT concat_ws(' ', 'table', relname, relkind, relowner::regrole, relrowsecurity, relforcerowsecurity, reloptions,
         (SELECT array_agg(a::text ORDER BY a::text) FROM unnest(relacl) a)) AS fact FROM ours
  UNION ALL SELECT concat_ws(' ', 'column', relname, attname, format_type(atttypid, atttypmod), attnotnull, pg_get_expr(adbin, adrelid),
         (SELECT array_agg(a::text ORDER BY a::text) FROM unnest(attacl) a))
    FROM ours JOIN pg_attribute ON attrelid = ours.oid AND attnum > 0 AND NOT attisdropped LEFT JOIN pg_attrdef ON adrelid = attrelid AND adnum = attnum
  UNION ALL SELECT concat_ws(' ', 'constraint', relname, conname, pg_get_constraintdef(pg_constraint.oid)) FROM ours JOIN pg_constraint ON conrelid = ours.oid
  UNION ALL SELECT concat_ws(' ', 'index', pg_get_indexdef(indexrelid)) FROM ours JOIN pg_index ON indrelid = ours.oid
  UNION ALL SELECT concat_ws(' ', 'policy', tablename, policyname, permissive, roles, cmd, qual, with_check) FROM pg_policies WHERE schemaname = 'public'
  UNION ALL SELECT concat_ws(' ', 'trigger', tgenabled, pg_get_triggerdef(pg_trigger.oid)) FROM ours JOIN pg_trigger ON tgrelid = ours.oid AND NOT tgisinternal
  UNION ALL SELECT concat_ws(' ', 'function', proname, proowner::regrole, prosecdef, proacl, md5(prosrc)) FROM pg_proc WHERE pronamespace = 'public'::regnamespace
) facts ORDER BY fact`
