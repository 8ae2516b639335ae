package metrics

import (
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Canary shows how the steps of a canary went. It runs apart from the server, so its
// figures are its own.
type Canary struct {
	registry *prometheus.Registry
	up       *prometheus.GaugeVec
	took     *prometheus.GaugeVec
	runs     *prometheus.CounterVec
	last     prometheus.Gauge
}

// NewCanary makes the figures of a canary that has not sung.
func NewCanary() *Canary {
	m := &Metrics{registry: prometheus.NewRegistry()}
	c := &Canary{
		registry: m.registry,
		up:       register(m, prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: "relevel_canary_up", Help: "1 where a step of the canary went well the last time."}, []string{"step"})),
		took:     register(m, prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: "relevel_canary_step_duration_seconds", Help: "How long the step took then."}, []string{"step"})),
		runs:     m.counters("relevel_canary_runs_total", "Runs of the canary, by how they ended: done or failed.", "outcome"),
		last:     m.gauge("relevel_canary_last_success_timestamp_seconds", "When all steps went well last; 0 before they did."),
	}
	c.runs.WithLabelValues("done")
	c.runs.WithLabelValues("failed")
	return c
}

// Handler serves them.
func (c *Canary) Handler() http.Handler {
	return promhttp.HandlerFor(c.registry, promhttp.HandlerOpts{})
}

// Gatherer is what Handler serves.
func (c *Canary) Gatherer() prometheus.Gatherer { return c.registry }

// Step says how one step went.
func (c *Canary) Step(name string, up bool, took time.Duration) {
	c.up.WithLabelValues(name).Set(flag(up))
	c.took.WithLabelValues(name).Set(took.Seconds())
}

// Ran says that a run is over, at some time.
func (c *Canary) Ran(well bool, at time.Time) {
	if !well {
		c.runs.WithLabelValues("failed").Inc()
		return
	}
	c.runs.WithLabelValues("done").Inc()
	c.last.Set(float64(at.UnixMilli()) / 1000)
}
