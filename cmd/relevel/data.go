package main

import (
	"errors"
	"os"
	"path/filepath"
)

// machineData is where root keeps data: its own folder is closed to the account
// that Postgres runs as.
const machineData = "/var/lib/relevel"

// dataFolder is where a command keeps its data: what the flag says, otherwise
// the usual place of the account that runs it.
func dataFolder(flag string, env environment) (string, error) {
	switch {
	case flag != "":
		return filepath.Abs(flag)
	case filepath.IsAbs(env["XDG_DATA_HOME"]):
		return filepath.Join(env["XDG_DATA_HOME"], "relevel"), nil
	case os.Geteuid() == 0:
		return machineData, nil
	case env["HOME"] != "":
		return filepath.Join(env["HOME"], ".local", "share", "relevel"), nil
	}
	return "", errors.New("no place for data: HOME is not set, so say where with --data")
}
