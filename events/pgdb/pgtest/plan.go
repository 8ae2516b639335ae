package pgtest

import (
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
)

// PlanForAny is the plan on which a connection of a role settles for a statement after a
// few calls, whatever its arguments are, as EXPLAIN writes it. Types are those of the
// arguments, such as "uuid".
func (d *DB) PlanForAny(role, sql string, types ...string) string {
	d.t.Helper()
	conn := d.Connect(role)
	prepared := fmt.Sprintf("SET plan_cache_mode = force_generic_plan; PREPARE asked (%s) AS %s", strings.Join(types, ", "), sql)
	if _, err := conn.Exec(d.t.Context(), prepared); err != nil {
		d.t.Fatal(err)
	}
	nulls := strings.TrimSuffix(strings.Repeat("NULL, ", len(types)), ", ")
	rows, err := conn.Query(d.t.Context(), "EXPLAIN EXECUTE asked ("+nulls+")")
	if err != nil {
		d.t.Fatal(err)
	}
	lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		d.t.Fatal(err)
	}
	return strings.Join(lines, "\n")
}
