package pgdb_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
)

// rightTable is a table as all have to be.
const rightTable = `
	CREATE TABLE scratch (
		firm uuid NOT NULL REFERENCES firm, id uuid NOT NULL, beside uuid,
		CONSTRAINT scratch_pkey PRIMARY KEY (firm, id), CONSTRAINT scratch_beside FOREIGN KEY (firm, beside) REFERENCES scratch);
	GRANT SELECT, INSERT ON scratch TO relevel_app;
	ALTER TABLE scratch ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
	CREATE POLICY owner_all ON scratch TO relevel_owner USING (true);
	CREATE POLICY app_firm ON scratch TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);`

// The catalogue finds each way in which a table, or what stands beside it, can be
// wrong, and nothing in a table that is right.
func TestCatalogueFindsAWrongTable(t *testing.T) {
	t.Parallel()
	conn := pgtest.New(t).Connect(pgdb.Owner)
	if faults := faultsWith(t, conn, ""); len(faults) > 0 {
		t.Errorf("a table that is right: %q", faults)
	}
	for wrong, want := range map[string]string{
		`ALTER TABLE scratch DROP CONSTRAINT scratch_beside, DROP CONSTRAINT scratch_pkey, ADD PRIMARY KEY (id)`:                   "does not begin with the firm",
		`ALTER TABLE scratch DROP CONSTRAINT scratch_beside, DROP CONSTRAINT scratch_pkey`:                                         "no primary key",
		`ALTER TABLE scratch ADD UNIQUE (id)`:                                                                                      "does not begin with the firm",
		`ALTER TABLE scratch ADD UNIQUE (id, firm)`:                                                                                "does not begin with the firm",
		`CREATE UNIQUE INDEX ON scratch (id) WHERE beside IS NULL`:                                                                 "does not begin with the firm",
		`CREATE UNIQUE INDEX ON scratch (upper(id::text))`:                                                                         "does not begin with the firm",
		`ALTER TABLE scratch ADD EXCLUDE (beside WITH =)`:                                                                          "does not begin with the firm",
		`ALTER TABLE scratch ADD other uuid, ADD FOREIGN KEY (other) REFERENCES firm`:                                              "does not begin with the firm",
		`CREATE TABLE plain (id uuid PRIMARY KEY); ALTER TABLE scratch ADD FOREIGN KEY (firm) REFERENCES plain`:                    "does not begin with the firm",
		`ALTER TABLE scratch ADD n bigint GENERATED ALWAYS AS IDENTITY`:                                                            "counts over all firms",
		`ALTER TABLE scratch ADD n bigserial`:                                                                                      "counts over all firms",
		`ALTER TABLE scratch DISABLE ROW LEVEL SECURITY`:                                                                           "row security is off",
		`ALTER TABLE scratch NO FORCE ROW LEVEL SECURITY`:                                                                          "not forced",
		`DROP POLICY app_firm ON scratch`:                                                                                          "its policies",
		`CREATE POLICY more ON scratch TO relevel_app USING (true)`:                                                                "its policies",
		`CREATE POLICY more ON scratch USING (firm = nullif(current_setting('app.firm', true), '')::uuid)`:                         "its policies",
		`CREATE POLICY more ON scratch FOR SELECT TO relevel_worker USING (true)`:                                                  "its policies",
		`ALTER POLICY app_firm ON scratch USING (true)`:                                                                            "its policies",
		`ALTER POLICY app_firm ON scratch WITH CHECK (true)`:                                                                       "its policies",
		`ALTER POLICY app_firm ON scratch USING (firm = current_setting('app.firm', true)::uuid)`:                                  "its policies",
		`ALTER TABLE scratch DROP CONSTRAINT scratch_beside, ADD FOREIGN KEY (firm, beside) REFERENCES scratch ON DELETE CASCADE`:  "changes rows by itself",
		`ALTER TABLE scratch DROP CONSTRAINT scratch_beside, ADD FOREIGN KEY (firm, beside) REFERENCES scratch ON DELETE SET NULL`: "changes rows by itself",
		`CREATE VIEW leak AS SELECT * FROM scratch`:                                                                                "no plain table",
		`CREATE MATERIALIZED VIEW leak AS SELECT * FROM scratch`:                                                                   "no plain table",
		`CREATE FUNCTION leak() RETURNS bigint LANGUAGE sql SECURITY DEFINER AS 'SELECT count(*) FROM scratch'`:                    "runs with the rights",
		`CREATE RULE leak AS ON INSERT TO scratch DO ALSO SELECT * FROM firm`:                                                      "there is a rule",
		`ALTER DEFAULT PRIVILEGES GRANT SELECT ON TABLES TO relevel_app`:                                                           "what is made later is granted to relevel_app",
		`GRANT UPDATE (beside) ON scratch TO relevel_app`:                                                                          "relevel_app scratch.beside UPDATE",
		`GRANT SELECT ON scratch TO relevel_worker`:                                                                                "relevel_worker scratch SELECT",
		`GRANT SELECT ON scratch TO PUBLIC`:                                                                                        "everybody scratch SELECT",
		`ALTER TABLE scratch RENAME firm TO owner`:                                                                                 "no column firm",
	} {
		faults := faultsWith(t, conn, wrong)
		if !slices.ContainsFunc(faults, func(fault string) bool { return strings.Contains(fault, want) }) {
			t.Errorf("%s: found %q, want %q", wrong, faults, want)
		}
	}
}

// faultsWith lists what the catalogue finds in a right table after a change, which is
// then undone.
func faultsWith(t *testing.T, conn *pgx.Conn, change string) (faults []string) {
	t.Helper()
	run := func(sql string) {
		t.Helper()
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
	run("BEGIN")
	defer run("ROLLBACK")
	known, grantedBefore := tables(t, conn), granted(t, conn)
	run(rightTable)
	run(change)
	for _, table := range tables(t, conn) {
		if slices.Contains(known, table) {
			continue
		}
		faults = append(faults, securityFaults(t, conn, table)...)
		faults = append(faults, keyFaults(t, conn, table)...)
	}
	faults = append(append(faults, cascadeFaults(t, conn)...), lentRights(t, conn)...)
	for _, right := range granted(t, conn) {
		if !slices.Contains(append(grantedBefore, "relevel_app scratch INSERT SELECT"), right) && !strings.HasPrefix(right, "relevel_backup ") {
			faults = append(faults, right)
		}
	}
	return faults
}
