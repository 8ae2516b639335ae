package main

import (
	"fmt"
	"time"

	"relevel/cmd/relevel/doctor"
	"relevel/deploy/backups"
)

// A nightly backup is a day old; one that is older than a week is none to rely on.
const (
	backupLate  = 36 * time.Hour
	backupStale = 7 * 24 * time.Hour
)

// lastBackup looks how far back the last backup in a folder takes the database, and
// whether it has all photos. Where no folder is named nobody knows of any.
func lastBackup(dir string, now time.Time) []doctor.Finding {
	if dir == "" {
		return []doctor.Finding{{Verdict: doctor.Look, Says: "nobody said where backups are, so none was looked at",
			Cure: "make one with relevel backup, and set " + envBackups + " to its folder (deploy/BACKUP.md)"}}
	}
	const cure = "run relevel backup --to %s, and look why it did not run (deploy/BACKUP.md)"
	m, err := backups.Newest(dir)
	if err != nil {
		return []doctor.Finding{{Verdict: doctor.Wrong, Says: err.Error(), Cure: fmt.Sprintf(cure, dir)}}
	}
	at, err := backups.Reach(dir)
	if err != nil {
		return []doctor.Finding{{Verdict: doctor.Wrong, Says: err.Error(), Cure: fmt.Sprintf(cure, dir)}}
	}
	age := now.Sub(at)
	f := doctor.Finding{Verdict: doctor.OK, Says: fmt.Sprintf("%s takes the database to %s, %s ago", m.Name, at.UTC().Format(time.RFC3339), age.Round(time.Minute))}
	switch {
	case age > backupStale:
		f.Verdict, f.Cure = doctor.Wrong, fmt.Sprintf(cure, dir)
	case age > backupLate:
		f.Verdict, f.Cure = doctor.Look, fmt.Sprintf(cure, dir)
	case len(m.Missing) > 0:
		f.Verdict, f.Cure = doctor.Look, "run relevel scrub: it names them"
		f.Says += fmt.Sprintf("; %d photos that the record calls kept are not in it", len(m.Missing))
	}
	return []doctor.Finding{f}
}
