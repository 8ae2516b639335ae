package metrics

import "github.com/prometheus/client_golang/prometheus"

func register[C prometheus.Collector](m *Metrics, c C) C {
	m.registry.MustRegister(c)
	return c
}

func (m *Metrics) counter(name, help string) prometheus.Counter {
	return register(m, prometheus.NewCounter(prometheus.CounterOpts{Name: name, Help: help}))
}

func (m *Metrics) counters(name, help string, labels ...string) *prometheus.CounterVec {
	return register(m, prometheus.NewCounterVec(prometheus.CounterOpts{Name: name, Help: help}, labels))
}

func (m *Metrics) gauge(name, help string) prometheus.Gauge {
	return register(m, prometheus.NewGauge(prometheus.GaugeOpts{Name: name, Help: help}))
}

func (m *Metrics) histogram(name, help string, buckets []float64) prometheus.Histogram {
	return register(m, prometheus.NewHistogram(prometheus.HistogramOpts{Name: name, Help: help, Buckets: buckets}))
}

func (m *Metrics) histograms(name, help string, buckets []float64, labels ...string) *prometheus.HistogramVec {
	return register(m, prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: name, Help: help, Buckets: buckets}, labels))
}

// figure is a metric whose value is looked up when it is asked for.
type figure struct {
	desc *prometheus.Desc
	kind prometheus.ValueType
}

func gaugeOf(name, help string, labels ...string) figure {
	return figure{prometheus.NewDesc(name, help, labels, nil), prometheus.GaugeValue}
}

func counterOf(name, help string, labels ...string) figure {
	return figure{prometheus.NewDesc(name, help, labels, nil), prometheus.CounterValue}
}

func (f figure) send(to chan<- prometheus.Metric, value float64, labels ...string) {
	to <- prometheus.MustNewConstMetric(f.desc, f.kind, value, labels...)
}

func flag(set bool) float64 {
	if set {
		return 1
	}
	return 0
}
