package main

import (
	"errors"
	"path/filepath"
)

// machineData is where root keeps data: its own folder is closed to the account
// that Postgres runs as.
const machineData = "/var/lib/relevel"

// dataFolder is where a command keeps its data: what the flag says, otherwise
// the usual place of the account that runs it, which may be root.
func dataFolder(flag string, env environment, root bool) (string, error) {
	switch {
	case flag != "":
		return filepath.Abs(flag)
	case filepath.IsAbs(env["XDG_DATA_HOME"]):
		return filepath.Join(env["XDG_DATA_HOME"], "relevel"), nil
	case root:
		return machineData, nil
	case env["HOME"] != "":
		return filepath.Join(env["HOME"], ".local", "share", "relevel"), nil
	}
	return "", errors.New("no place for data: HOME is not set, so say where with --data")
}
