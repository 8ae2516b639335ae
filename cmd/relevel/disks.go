package main

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"time"

	"relevel/cmd/relevel/doctor"
	"relevel/server/metrics"
)

// disksEvery is how often it is looked how much room is left.
const disksEvery = time.Minute

// lookAtDisks looks how much room is left where the server writes. The disk of the
// backups, which may be on another machine, is looked at with them.
func (i *instance) lookAtDisks(ctx context.Context, disks *metrics.Disks) {
	i.lookAtDisk(ctx, disks, "data", i.data)
	i.lookAtDisk(ctx, disks, "temporary", os.TempDir())
}

// lookAtDisk says how much room is left. A folder that is not there has no disk.
func (i *instance) lookAtDisk(ctx context.Context, disks *metrics.Disks, name, folder string) {
	left, of, err := doctor.Room(folder)
	switch {
	case err == nil:
		disks.Set(name, left, of)
	case !errors.Is(err, fs.ErrNotExist): // it stays as it was
		i.log.WarnContext(ctx, "a disk could not be looked at", "disk", name, "err", err)
	}
}
