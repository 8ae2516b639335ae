package metrics

import (
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/prometheus/client_golang/prometheus"
)

// Pool says what a pool of connections does.
type Pool struct {
	Stat    func() *pgxpool.Stat
	Repeats func() int64 // transactions that were run again, having lost against another one
}

// pools is a collector of what pools of connections do, by the name of each.
type pools struct {
	pools map[string]Pool

	connections, limit          figure
	acquired, waited, waitTimes figure
	givenUp, repeats            figure
}

// WatchPools shows what pools of connections to the database do, by name.
func (m *Metrics) WatchPools(all map[string]Pool) {
	m.registry.MustRegister(&pools{
		pools:       all,
		connections: gaugeOf("relevel_db_connections", "Connections to the database.", "pool", "state"),
		limit:       gaugeOf("relevel_db_connections_limit", "How many there are at most.", "pool"),
		acquired:    counterOf("relevel_db_acquires_total", "Times that a connection was taken from the pool.", "pool"),
		waited:      counterOf("relevel_db_waits_total", "Times that none was free.", "pool"),
		waitTimes:   counterOf("relevel_db_wait_seconds_total", "Time that was waited for one then.", "pool"),
		givenUp:     counterOf("relevel_db_given_up_total", "Times that whoever waited gave up.", "pool"),
		repeats:     counterOf("relevel_db_repeats_total", "Times that a transaction was run again, having lost against another one.", "pool"),
	})
}

// Describe implements prometheus.Collector.
func (p *pools) Describe(to chan<- *prometheus.Desc) {
	for _, f := range []figure{p.connections, p.limit, p.acquired, p.waited, p.waitTimes, p.givenUp, p.repeats} {
		to <- f.desc
	}
}

// Collect implements prometheus.Collector.
func (p *pools) Collect(to chan<- prometheus.Metric) {
	for name, pool := range p.pools {
		s := pool.Stat()
		p.connections.send(to, float64(s.AcquiredConns()), name, "in_use")
		p.connections.send(to, float64(s.IdleConns()), name, "idle")
		p.connections.send(to, float64(s.ConstructingConns()), name, "opening")
		p.limit.send(to, float64(s.MaxConns()), name)
		p.acquired.send(to, float64(s.AcquireCount()), name)
		p.waited.send(to, float64(s.EmptyAcquireCount()), name)
		p.waitTimes.send(to, s.EmptyAcquireWaitTime().Seconds(), name)
		p.givenUp.send(to, float64(s.CanceledAcquireCount()), name)
		p.repeats.send(to, float64(pool.Repeats()), name)
	}
}
