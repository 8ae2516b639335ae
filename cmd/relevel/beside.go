package main

import (
	"errors"
	"path/filepath"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

// readBeside reads the settings of a command that works beside a server: on the private
// Postgres that one runs. Where none does the command starts it for as long as it takes.
func readBeside(dataFlag string, env environment) (settings, error) {
	set, err := readSettings(dataFlag, env)
	if err != nil || !set.embedded() {
		return set, err
	}
	running, err := localpg.FindRunning(filepath.Join(set.data, "postgres"))
	switch {
	case errors.Is(err, localpg.ErrNotRunning):
		return set, nil
	case err != nil:
		return set, err
	}
	set.database, set.worker = running.DSN(pgdb.App, databaseName), running.DSN(pgdb.Worker, databaseName)
	set.eraser = running.DSN(pgdb.Eraser, databaseName)
	return set, nil
}
