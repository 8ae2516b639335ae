package metrics

import (
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/prometheus/client_golang/prometheus"
)

// pools is a collector of what pools of connections do, by the name of each.
type pools struct {
	stat map[string]func() *pgxpool.Stat

	connections, limit          figure
	acquired, waited, waitTimes figure
	givenUp                     figure
}

// WatchPools shows what pools of connections to the database do, by name.
func (m *Metrics) WatchPools(stat map[string]func() *pgxpool.Stat) {
	m.registry.MustRegister(&pools{
		stat:        stat,
		connections: gaugeOf("relevel_db_connections", "Connections to the database.", "pool", "state"),
		limit:       gaugeOf("relevel_db_connections_limit", "How many there are at most.", "pool"),
		acquired:    counterOf("relevel_db_acquires_total", "Times that a connection was taken from the pool.", "pool"),
		waited:      counterOf("relevel_db_waits_total", "Times that none was free.", "pool"),
		waitTimes:   counterOf("relevel_db_wait_seconds_total", "Time that was waited for one then.", "pool"),
		givenUp:     counterOf("relevel_db_given_up_total", "Times that whoever waited gave up.", "pool"),
	})
}

// Describe implements prometheus.Collector.
func (p *pools) Describe(to chan<- *prometheus.Desc) {
	for _, f := range []figure{p.connections, p.limit, p.acquired, p.waited, p.waitTimes, p.givenUp} {
		to <- f.desc
	}
}

// Collect implements prometheus.Collector.
func (p *pools) Collect(to chan<- prometheus.Metric) {
	for name, stat := range p.stat {
		s := stat()
		p.connections.send(to, float64(s.AcquiredConns()), name, "in_use")
		p.connections.send(to, float64(s.IdleConns()), name, "idle")
		p.connections.send(to, float64(s.ConstructingConns()), name, "opening")
		p.limit.send(to, float64(s.MaxConns()), name)
		p.acquired.send(to, float64(s.AcquireCount()), name)
		p.waited.send(to, float64(s.EmptyAcquireCount()), name)
		p.waitTimes.send(to, s.EmptyAcquireWaitTime().Seconds(), name)
		p.givenUp.send(to, float64(s.CanceledAcquireCount()), name)
	}
}
