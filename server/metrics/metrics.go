// Package metrics shows what a server does as Prometheus reads it. All of it is in
// memory: asking for it asks no database. Every name begins with relevel_, but for those
// of the Go runtime and of the process, which are as everywhere.
//
// Labels have few values by design: routes are patterns of addresses, kinds and states
// are words of this program, and no firm, job or person is named.
package metrics

import (
	"net/http"
	"runtime"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"relevel/server/watch"
)

// Buckets, in seconds. Those of requests and appends have the goals among them: half of
// all appends within 50 ms, 99 of 100 within 500 ms.
var (
	quick = []float64{.005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 30}
	slow  = []float64{.01, .05, .1, .5, 1, 5, 15, 60, 300}
	sizes = []float64{1, 2, 5, 10, 25, 50, 100, 250, 500}
)

// Metrics is a watch.Meter that can be read by Prometheus.
type Metrics struct {
	registry *prometheus.Registry

	requests  *prometheus.CounterVec
	durations *prometheus.HistogramVec
	inFlight  prometheus.Gauge
	received  prometheus.Counter
	sent      prometheus.Counter

	events   *prometheus.CounterVec
	batches  prometheus.Histogram
	appends  prometheus.Histogram
	commits  prometheus.Histogram
	failures prometheus.Counter

	refolds  prometheus.Counter
	refolded prometheus.Counter
	panics   *prometheus.CounterVec
	asked    *prometheus.CounterVec
	askTimes *prometheus.HistogramVec
	tries    *prometheus.CounterVec
	tryTimes *prometheus.HistogramVec
}

// New makes metrics of a program of some version.
func New(version string) *Metrics {
	m := &Metrics{registry: prometheus.NewRegistry()}
	m.registry.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	build := prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: "relevel_build_info", Help: "Which build this is; always 1."}, []string{"version", "go_version"})
	build.WithLabelValues(version, runtime.Version()).Set(1)
	m.registry.MustRegister(build)
	m.ofRequests()
	m.ofAppends()
	m.ofWork()
	return m
}

// Handler serves all of it.
func (m *Metrics) Handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}

// Gatherer is what Handler serves.
func (m *Metrics) Gatherer() prometheus.Gatherer { return m.registry }

func (m *Metrics) ofRequests() {
	m.requests = m.counters("relevel_http_requests_total", "Requests that were answered, by the pattern of their address and the class of their status.", "route", "method", "class")
	m.durations = m.histograms("relevel_http_request_duration_seconds", "Time from the first byte of a request to the last of its answer; live streams are left out.", quick, "route", "method")
	m.inFlight = m.gauge("relevel_http_requests_in_flight", "Requests under way, live streams among them.")
	m.received = m.counter("relevel_http_received_bytes_total", "Bytes of bodies that were read.")
	m.sent = m.counter("relevel_http_sent_bytes_total", "Bytes of answers, before they were packed.")
}

func (m *Metrics) ofAppends() {
	m.events = m.counters("relevel_events_total", "Records that were sent, by what became of them: stored, repeated or quarantined.", "outcome")
	for _, outcome := range []string{"stored", "repeated", "quarantined"} {
		m.events.WithLabelValues(outcome)
	}
	m.batches = m.histogram("relevel_append_batch_events", "Records in one batch.", sizes)
	m.appends = m.histogram("relevel_append_duration_seconds", "Time of an append, until its answer with the figures was known.", quick)
	m.commits = m.histogram("relevel_append_commit_duration_seconds", "Time until the log had a batch.", quick)
	m.failures = m.counter("relevel_append_failures_total", "Batches of which nothing was acknowledged because the store was away; their senders keep them.")
}

func (m *Metrics) ofWork() {
	m.refolds = m.counter("relevel_refolds_total", "States of jobs that were made anew from all of their log.")
	m.refolded = m.counter("relevel_refolded_events_total", "Records that were read for that.")
	m.panics = m.counters("relevel_panics_total", "Bugs that were caught: in a request, in a fold or in a task.", "in")
	for _, in := range []string{"request", "fold", "task"} {
		m.panics.WithLabelValues(in)
	}
	m.asked = m.counters("relevel_photo_store_operations_total", "Operations on the store of photos.", "operation", "outcome")
	m.askTimes = m.histograms("relevel_photo_store_duration_seconds", "Time of an operation on the store of photos.", quick, "operation")
	for _, op := range []string{"put", "open", "stat", "delete"} {
		m.asked.WithLabelValues(op, "done")
		m.asked.WithLabelValues(op, "failed")
	}
	m.tries = m.counters("relevel_task_attempts_total", "Attempts at tasks, by how they ended.", "kind", "outcome")
	m.tryTimes = m.histograms("relevel_task_duration_seconds", "Time of an attempt at a task.", slow, "kind")
}

// Began implements watch.Meter.
func (m *Metrics) Began() { m.inFlight.Inc() }

// Answered implements watch.Meter.
func (m *Metrics) Answered(a watch.Answer) {
	m.inFlight.Dec()
	m.requests.WithLabelValues(a.Route, a.Method, class(a.Status)).Inc()
	m.received.Add(float64(a.In))
	m.sent.Add(float64(a.Out))
	if !a.Stream {
		m.durations.WithLabelValues(a.Route, a.Method).Observe(a.Took.Seconds())
	}
}

// class is the first digit of a status: 2xx. An answer that was cut off before it began
// has none.
func class(status int) string {
	if status < 100 || status > 599 {
		return "none"
	}
	return strconv.Itoa(status/100) + "xx"
}

// Appended implements watch.Meter.
func (m *Metrics) Appended(a watch.Append) {
	m.events.WithLabelValues("stored").Add(float64(a.Stored))
	m.events.WithLabelValues("repeated").Add(float64(a.Repeated))
	m.batches.Observe(float64(a.Events))
	m.appends.Observe(a.Took.Seconds())
	if a.Commit > 0 {
		m.commits.Observe(a.Commit.Seconds())
	}
	if a.Failed {
		m.failures.Inc()
	}
}

// Quarantined implements watch.Meter.
func (m *Metrics) Quarantined() { m.events.WithLabelValues("quarantined").Inc() }

// Refolded implements watch.Meter.
func (m *Metrics) Refolded(events int) {
	m.refolds.Inc()
	m.refolded.Add(float64(events))
}

// Panicked implements watch.Meter.
func (m *Metrics) Panicked(in string) { m.panics.WithLabelValues(in).Inc() }

// Asked implements watch.Meter.
func (m *Metrics) Asked(op string, failed bool, took time.Duration) {
	outcome := "done"
	if failed {
		outcome = "failed"
	}
	m.asked.WithLabelValues(op, outcome).Inc()
	m.askTimes.WithLabelValues(op).Observe(took.Seconds())
}

// Tried implements watch.Meter.
func (m *Metrics) Tried(kind string, end watch.Outcome, took time.Duration) {
	m.tries.WithLabelValues(kind, string(end)).Inc()
	m.tryTimes.WithLabelValues(kind).Observe(took.Seconds())
}
