package metrics

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// Backups shows up to when the backups reach, as it was when somebody looked last.
type Backups struct{ reach prometheus.Gauge }

// Backups registers it, where backups are looked at. Until it is set it is 0, which is
// as old as can be.
func (m *Metrics) Backups() *Backups {
	return &Backups{m.gauge("relevel_backup_reach_timestamp_seconds", "Up to when the backups of RELEVEL_BACKUPS could bring everything back, as Unix time; 0 where there is none.")}
}

// Set says how far they reach.
func (b *Backups) Set(at time.Time) { b.reach.Set(float64(at.UnixMilli()) / 1000) }

// None says that there is none.
func (b *Backups) None() { b.reach.Set(0) }
