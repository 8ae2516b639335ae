package metrics

import "github.com/prometheus/client_golang/prometheus"

// Checks shows what the server needs and whether it answers, as it was when somebody
// looked last.
type Checks struct{ up *prometheus.GaugeVec }

// Checks registers them.
func (m *Metrics) Checks() *Checks {
	up := prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: "relevel_check_up", Help: "1 where what the server needs answered when it was asked last, as /readyz asks it."}, []string{"check"})
	return &Checks{register(m, up)}
}

// Set says how one was.
func (c *Checks) Set(name string, up bool) { c.up.WithLabelValues(name).Set(flag(up)) }
