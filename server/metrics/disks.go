package metrics

import "github.com/prometheus/client_golang/prometheus"

// Disks shows how much room is left where a server writes, as it was when somebody
// looked last.
type Disks struct{ free, size *prometheus.GaugeVec }

// Disks registers them.
func (m *Metrics) Disks() *Disks {
	one := func(name, help string) *prometheus.GaugeVec {
		return register(m, prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: name, Help: help}, []string{"disk"}))
	}
	return &Disks{
		free: one("relevel_disk_free_bytes", "What is left for the server on the disk of its data, of uploads on their way (temporary), and of the backups of RELEVEL_BACKUPS."),
		size: one("relevel_disk_size_bytes", "How large that disk is."),
	}
}

// Set says how one was, in bytes. Several names may be of the same disk.
func (d *Disks) Set(name string, free, size uint64) {
	d.free.WithLabelValues(name).Set(float64(free))
	d.size.WithLabelValues(name).Set(float64(size))
}
