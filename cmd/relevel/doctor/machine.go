package doctor

import (
	"context"
	"os"
	"path/filepath"
	"syscall"
	"time"

	"relevel/events/pgdb/localpg"
	"relevel/server/web"
)

func (v *visit) machineChecks() []Check {
	return []Check{
		{"Machine", "program", v.program},
		{"Machine", "time zones", v.zones},
		{"Machine", "Postgres", v.programs},
		{"Machine", "disk", v.disk},
	}
}

// program says which it is, and whether the phone's app is in it.
func (v *visit) program(context.Context) []Finding {
	if !web.BuiltPhone().Has("") {
		return wrong("relevel %s was built without the phone's app", v.Version).cure("build it with make build, or take a released one")
	}
	return ok("relevel %s, with the phone's app", v.Version)
}

// zones looks for the rules of time zones: a job's times are shown in its own.
func (v *visit) zones(context.Context) []Finding {
	if _, err := time.LoadLocation("Australia/Melbourne"); err != nil {
		return wrong("the rules of time zones are missing: %v", err).cure("install tzdata, or take a released program, which has them")
	}
	return ok("the rules of time zones are there")
}

// programs of Postgres are what the embedded default starts.
func (v *visit) programs(context.Context) []Finding {
	if !v.Embedded {
		return nil
	}
	version, err := localpg.Version()
	if err != nil {
		return wrong("%v", err).cure("install Postgres, or set RELEVEL_DATABASE_URL")
	}
	return ok("%s", version)
}

// What is left on a disk, below which it is time to look, and below which records are
// refused soon. Postgres refuses with an error and loses nothing.
const (
	roomEnough = 2 << 30
	roomLeast  = 256 << 20
)

// disk looks at each disk on which something is kept here, or is laid for a moment, and
// at that of the backups.
func (v *visit) disk(context.Context) (all []Finding) {
	seen := map[uint64]bool{}
	for _, folder := range []string{v.Data, filepath.Join(v.Data, "photos"), filepath.Join(v.Data, "postgres"), os.TempDir(), v.Backups} {
		var stat syscall.Stat_t
		if syscall.Stat(folder, &stat) != nil || seen[uint64(stat.Dev)] {
			continue // not there yet, or said already
		}
		left, of, err := Room(folder)
		if err != nil {
			continue
		}
		seen[uint64(stat.Dev)] = true
		all = append(all, roomOn(folder, left, of)...)
	}
	return all
}

// Room returns how many bytes are left for this account on the disk of a folder, and how
// many it has.
func Room(folder string) (left, of uint64, err error) {
	var room syscall.Statfs_t
	if err := syscall.Statfs(folder, &room); err != nil {
		return 0, 0, &os.PathError{Op: "ask for the room on the disk of", Path: folder, Err: err}
	}
	return room.Bavail * uint64(room.Bsize), room.Blocks * uint64(room.Bsize), nil
}

func roomOn(folder string, left, of uint64) []Finding {
	mib := left >> 20
	switch {
	case left < roomLeast:
		return wrong("%d MiB are left on the disk of %s: records are refused soon", mib, folder).cure("make room, or move to a larger disk")
	case left < roomEnough || left < of/20:
		return look("%d MiB are left on the disk of %s", mib, folder).cure("make room, or move to a larger disk")
	}
	return ok("%d MiB are left on the disk of %s", mib, folder)
}
