package metrics

import (
	"github.com/prometheus/client_golang/prometheus"

	"relevel/server/watch"
)

// vitals is a collector of what a server has in memory.
type vitals struct {
	now   func() watch.Vitals
	sends []vital
}

type vital struct {
	figure
	of func(watch.Vitals) float64
}

// Watch shows what a server has in memory at the moment that it is asked for.
func (m *Metrics) Watch(now func() watch.Vitals) {
	m.registry.MustRegister(&vitals{now, []vital{
		{gaugeOf("relevel_live_streams", "Live streams that are open."), func(v watch.Vitals) float64 { return float64(v.Streams) }},
		{gaugeOf("relevel_cached_states", "Folded jobs that are kept in memory."), func(v watch.Vitals) float64 { return float64(v.States) }},
		{gaugeOf("relevel_cached_states_limit", "How many are kept at most."), func(v watch.Vitals) float64 { return float64(v.StatesMax) }},
		{gaugeOf("relevel_whole_logs", "Whole logs that are being folded for one answer each."), func(v watch.Vitals) float64 { return float64(v.Refolds) }},
		{gaugeOf("relevel_whole_logs_limit", "How many are at most; who comes then waits."), func(v watch.Vitals) float64 { return float64(v.RefoldsMax) }},
		{gaugeOf("relevel_unsigned_jobs", "Jobs of which this server knows that their last record is not signed yet."), func(v watch.Vitals) float64 { return float64(v.Unsigned) }},
		{gaugeOf("relevel_unsigned_oldest_age_seconds", "For how long the first of those has waited."), func(v watch.Vitals) float64 { return v.UnsignedFor.Seconds() }},
		{gaugeOf("relevel_disagreeing_jobs", "Jobs that are not signed because their log is not what was signed before."), func(v watch.Vitals) float64 { return float64(v.Disagree) }},
		{gaugeOf("relevel_draining", "1 while the server takes leave."), func(v watch.Vitals) float64 { return flag(v.Draining) }},
	}})
}

// Describe implements prometheus.Collector.
func (v *vitals) Describe(to chan<- *prometheus.Desc) {
	for _, one := range v.sends {
		to <- one.desc
	}
}

// Collect implements prometheus.Collector.
func (v *vitals) Collect(to chan<- prometheus.Metric) {
	now := v.now()
	for _, one := range v.sends {
		one.send(to, one.of(now))
	}
}

// Ways says how many appends of this process went which way, as the log counts them.
type Ways struct{ Fast, Slow, Moved, Retried, Flushes int64 }

// WatchLog shows which way the appends of a log went.
func (m *Metrics) WatchLog(counts func() Ways) {
	of := func(name, help string, labels prometheus.Labels, count func(Ways) int64) {
		m.registry.MustRegister(prometheus.NewCounterFunc(prometheus.CounterOpts{Name: name, Help: help, ConstLabels: labels},
			func() float64 { return float64(count(counts())) }))
	}
	const ways = "relevel_appends_total"
	const help = "Appends by the way they went: in one statement that supposed the head of the log, or under its lock."
	of(ways, help, prometheus.Labels{"way": "fast"}, func(c Ways) int64 { return c.Fast })
	of(ways, help, prometheus.Labels{"way": "slow"}, func(c Ways) int64 { return c.Slow })
	of("relevel_append_conflicts_total", "Appends that supposed a head which somebody else had moved on.", nil, func(c Ways) int64 { return c.Moved })
	of("relevel_append_retries_total", "Further tries at an append, after a lost race or a lost connection.", nil, func(c Ways) int64 { return c.Retried })
	of("relevel_append_flushes_total", "Statements that appends of one firm shared.", nil, func(c Ways) int64 { return c.Flushes })
}
