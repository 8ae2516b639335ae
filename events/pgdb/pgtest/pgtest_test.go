package pgtest_test

import (
	"testing"
	"time"

	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
)

func TestNew(t *testing.T) {
	for range 3 {
		began := time.Now()
		d := pgtest.New(t)
		t.Logf("a database in %v", time.Since(began).Round(time.Millisecond))
		if err := d.App.CheckSchema(t.Context()); err != nil {
			t.Error(err)
		}
		var name, role string
		if err := d.Connect(pgdb.Owner).QueryRow(t.Context(), "SELECT current_database(), current_user").Scan(&name, &role); err != nil {
			t.Fatal(err)
		}
		if name != d.Name || role != pgdb.Owner {
			t.Errorf("connected to %s as %s", name, role)
		}
	}
}

func TestOwn(t *testing.T) {
	began := time.Now()
	d := pgtest.Own(t)
	t.Logf("a server in %v", time.Since(began).Round(time.Millisecond))
	var fsync string
	if err := d.App.Pool().QueryRow(t.Context(), "SHOW fsync").Scan(&fsync); err != nil {
		t.Fatal(err)
	}
	if fsync != "on" {
		t.Errorf("fsync = %s", fsync)
	}
}
