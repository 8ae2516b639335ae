package metrics_test

import (
	"flag"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"

	"relevel/server/census"
	"relevel/server/metrics"
	"relevel/server/watch"
)

var update = flag.Bool("update", false, "write the names of all metrics to testdata")

// counted is a census in which everything is there.
func counted() (census.Census, bool) {
	hour := time.Now().Add(-time.Hour)
	return census.Census{
		Received: census.Waiting{Count: 3, Oldest: hour}, Damaged: 1, Unsent: census.Waiting{Count: 2, Oldest: hour},
		Tasks: []census.Tasks{{Kind: "checkpoint", Due: 4, Dead: 5, OldestDue: hour}}, Gaps: 6, Missing: 7, Doubts: 8, Apart: 9, Disagreed: 10,
	}, true
}

// full are metrics that were told of everything once.
func full(t *testing.T) *metrics.Metrics {
	t.Helper()
	m := metrics.New("1.2.3")
	pool, err := pgxpool.New(t.Context(), "host=/nowhere")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(pool.Close)
	m.Watch(func() watch.Vitals { return watch.Vitals{Streams: 4, UnsignedFor: time.Minute} })
	m.WatchLog(func() metrics.Ways { return metrics.Ways{Fast: 5, Slow: 6} })
	m.WatchPools(map[string]metrics.Pool{"app": {Stat: pool.Stat, Repeats: func() int64 { return 8 }}})
	m.Backups()
	m.WatchFirms(counted)
	m.Checks().Set("database", true)
	m.Disks().Set("data", 1, 2)
	m.Began()
	m.Answered(watch.Answer{Route: "/jobs/{job}", Method: "GET", Status: 200, Took: time.Second, In: 5, Out: 7})
	m.Appended(watch.Append{Events: 3, Stored: 2, Repeated: 1, Commit: time.Millisecond, Took: time.Second, Failed: true})
	m.Quarantined()
	m.Refolded(12)
	m.Panicked("fold")
	m.Asked("put", true, time.Second)
	m.Tried("hook", watch.Failed, time.Second)
	return m
}

// The names and labels of all metrics stand in a file: rules, dashboards and whoever
// reads them elsewhere rely on them.
func TestNames(t *testing.T) {
	sung := metrics.NewCanary()
	sung.Step("append", true, time.Second)
	found, err := prometheus.Gatherers{full(t).Gatherer(), sung.Gatherer()}.Gather()
	if err != nil {
		t.Fatal(err)
	}
	var got strings.Builder
	for _, family := range found {
		if !strings.HasPrefix(family.GetName(), "relevel_") {
			continue // of the runtime and of the process: not ours to name
		}
		labels := map[string]bool{}
		for _, one := range family.GetMetric() {
			for _, l := range one.GetLabel() {
				labels[l.GetName()] = true
			}
		}
		got.WriteString(strings.TrimSpace(family.GetName()+" "+strings.ToLower(family.GetType().String())+" "+strings.Join(slices.Sorted(maps.Keys(labels)), ",")) + "\n")
	}
	const file = "testdata/names.txt"
	if *update {
		if err := os.WriteFile(file, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got.String()); diff != "" {
		t.Errorf("other metrics than in %s; where that is right: go test ./server/metrics -update (-want +got):\n%s", file, diff)
	}
}

// Names, units and help are as Prometheus asks for.
func TestLint(t *testing.T) {
	problems, err := testutil.GatherAndLint(full(t).Gatherer())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		if strings.HasPrefix(p.Metric, "relevel_") {
			t.Errorf("%s: %s", p.Metric, p.Text)
		}
	}
}

// A canary's figures are as Prometheus asks for, too.
func TestCanary(t *testing.T) {
	c := metrics.NewCanary()
	c.Step("append", true, time.Second)
	c.Ran(true, time.UnixMilli(1500))
	c.Ran(false, time.UnixMilli(2500))
	problems, err := testutil.GatherAndLint(c.Gatherer())
	if err != nil || len(problems) > 0 {
		t.Errorf("%v, %v", problems, err)
	}
	want := `
# HELP relevel_canary_last_success_timestamp_seconds When all steps went well last; 0 before they did.
# TYPE relevel_canary_last_success_timestamp_seconds gauge
relevel_canary_last_success_timestamp_seconds 1.5
# HELP relevel_canary_runs_total Runs of the canary, by how they ended: done or failed.
# TYPE relevel_canary_runs_total counter
relevel_canary_runs_total{outcome="done"} 1
relevel_canary_runs_total{outcome="failed"} 1
`
	if err := testutil.GatherAndCompare(c.Gatherer(), strings.NewReader(want), "relevel_canary_last_success_timestamp_seconds", "relevel_canary_runs_total"); err != nil {
		t.Error(err)
	}
}

// values reads some metrics as they are served.
func values(t *testing.T, m *metrics.Metrics, want string, names ...string) {
	t.Helper()
	if err := testutil.GatherAndCompare(m.Gatherer(), strings.NewReader(want), names...); err != nil {
		t.Error(err)
	}
}

// What was told comes out as it was told.
func TestValues(t *testing.T) {
	m := full(t)
	values(t, m, `
# HELP relevel_events_total Records that were sent, by what became of them: stored, repeated or quarantined.
# TYPE relevel_events_total counter
relevel_events_total{outcome="quarantined"} 1
relevel_events_total{outcome="repeated"} 1
relevel_events_total{outcome="stored"} 2
`, "relevel_events_total")
	values(t, m, `
# HELP relevel_http_requests_total Requests that were answered, by the pattern of their address and the class of their status.
# TYPE relevel_http_requests_total counter
relevel_http_requests_total{class="2xx",method="GET",route="/jobs/{job}"} 1
# HELP relevel_http_requests_in_flight Requests under way, live streams among them.
# TYPE relevel_http_requests_in_flight gauge
relevel_http_requests_in_flight 0
`, "relevel_http_requests_total", "relevel_http_requests_in_flight")
	values(t, m, `
# HELP relevel_appends_total Appends by the way they went: in one statement that supposed the head of the log, or under its lock.
# TYPE relevel_appends_total counter
relevel_appends_total{way="fast"} 5
relevel_appends_total{way="slow"} 6
`, "relevel_appends_total")
	values(t, m, `
# HELP relevel_tasks Tasks of all firms: due, later, running, failing (to be tried again) or dead.
# TYPE relevel_tasks gauge
relevel_tasks{kind="checkpoint",state="dead"} 5
relevel_tasks{kind="checkpoint",state="due"} 4
relevel_tasks{kind="checkpoint",state="failing"} 0
relevel_tasks{kind="checkpoint",state="later"} 0
relevel_tasks{kind="checkpoint",state="running"} 0
`, "relevel_tasks")
}

// A live stream is no slow request.
func TestStreamsAreNotTimed(t *testing.T) {
	m := metrics.New("1.2.3")
	m.Began()
	m.Answered(watch.Answer{Route: "/live", Method: "GET", Status: 200, Took: time.Hour, Stream: true})
	if n, err := testutil.GatherAndCount(m.Gatherer(), "relevel_http_request_duration_seconds"); n != 0 || err != nil {
		t.Errorf("%d series, %v", n, err)
	}
	if n, err := testutil.GatherAndCount(m.Gatherer(), "relevel_http_requests_total"); n != 1 || err != nil {
		t.Errorf("%d series, %v", n, err)
	}
}

// Figures over all firms are absent where nobody may count them, and while they are not
// of now; a gauge says which.
func TestFirmsAbsent(t *testing.T) {
	closed := metrics.New("1.2.3")
	closed.WatchFirms(nil)
	values(t, closed, `
# HELP relevel_census_readable 1 where the server may count over all firms, 0 where RELEVEL_WORKER_DATABASE_URL is not set: then those figures are absent.
# TYPE relevel_census_readable gauge
relevel_census_readable 0
`, "relevel_census_readable", "relevel_census_fresh", "relevel_photos_damaged")
	stale := metrics.New("1.2.3")
	stale.WatchFirms(func() (census.Census, bool) { return census.Census{Damaged: 3}, false })
	values(t, stale, `
# HELP relevel_census_fresh 1 while those figures are of now; 0 when the database does not answer, and they are absent.
# TYPE relevel_census_fresh gauge
relevel_census_fresh 0
`, "relevel_census_fresh", "relevel_photos_damaged")
}
