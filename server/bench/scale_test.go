//go:build bench

package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgaudit"
	"relevel/events/pgdb"
)

// At how many records the set is measured on its way; its end is what was asked for.
var scaleSteps = []int64{10_000, 100_000, 1_000_000, 5_000_000, 10_000_000}

// scaleBytes is what a record takes on the disk at most, journal and all, by which a step
// is refused that the disk has no room for. A backup takes as much again, and its restore
// once more: where there is no room for them they are left out.
const scaleBytes = 2_000

// TestScale grows an installation step by step and measures it at each: FIRMS, JOBS and
// EVENTS say how far. `make scale` runs it.
func TestScale(t *testing.T) {
	s := &scaleSet{served: serve(t, ""), firms: int(asked(t, "FIRMS", 1000)), most: int(asked(t, "JOBS", 30_000))}
	end := asked(t, "EVENTS", 5_000_000)
	s.stretch = max(1, float64(end)/float64(s.most)/lengthMean)
	s.execute(`ALTER SYSTEM SET max_wal_size = '1GB'`, `SELECT pg_reload_conf()`)
	r := &results{}
	for _, step := range append(scaleSteps, end) {
		if step > end || step <= s.events || s.jobs == s.most {
			continue
		}
		if !s.room(fmt.Sprintf("%d records", step), (step-s.events)*scaleBytes) {
			break
		}
		began := time.Now()
		s.grow(step)
		fmt.Printf("%d records of %d jobs of %d firms in %v\n", s.events, s.jobs, len(s.all), time.Since(began).Round(time.Second))
		r.begin(s.events)
		s.measure(r)
		r.print()
		r.keep(t)
	}
}

// asked is a number from the environment.
func asked(t *testing.T, name string, usual int64) int64 {
	text := os.Getenv(name)
	if text == "" {
		return usual
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 1 {
		t.Fatalf("%s=%q: want a number from 1", name, text)
	}
	return n
}

// room tells whether something that takes so many bytes more fits on the disk and within
// SCALE_GB, and says so where not.
func (s *scaleSet) room(what string, need int64) bool {
	var disk syscall.Statfs_t
	must(s.t, syscall.Statfs(s.dir, &disk))
	free := int64(disk.Bavail) * disk.Bsize
	limit := asked(s.t, "SCALE_GB", 25) << 30
	if need < free-free/10 && s.folder()+need < limit {
		return true
	}
	fmt.Printf("no room for %s: %d GB more; %d are there, %d are free, and SCALE_GB=%d\n", what, need>>30, s.folder()>>30, free>>30, limit>>30)
	return false
}

// measure is all that is measured at one size.
func (s *scaleSet) measure(r *results) {
	conn := s.admin()
	r.add("jobs", "", float64(s.jobs))
	r.add("firms", "", float64(len(s.all)))
	size := ask[int64](s.t, conn, `SELECT pg_database_size(current_database())`)
	r.add("database", "GB", float64(size)/(1<<30))
	r.add("database per record", "B", float64(size)/float64(s.events))
	r.add("log and its indexes per record", "B", float64(ask[int64](s.t, conn, `SELECT pg_total_relation_size('event') + pg_total_relation_size('event_bytes')`))/float64(s.events))
	r.add("levels of the log's index", "", float64(s.depth(conn)))
	s.measureStates(r)
	active := s.some(200, 1)
	for _, j := range active {
		must(s.t, j.append()) // its state is kept from now on
	}
	s.settled()
	s.count()
	for _, clients := range []int{1, 8} {
		s.measureAppends(r, active, clients)
	}
	s.measureReads(r)
	s.audit(r)
	if s.room("a backup and its restore", 2*s.events*scaleBytes) {
		s.measureBackup(r, size)
	}
}

// measureAppends has so many phones send one record after the other, on jobs of all firms.
func (s *scaleSet) measureAppends(r *results, active []*scaleJob, clients int) {
	conn := s.admin()
	defer conn.Close(s.t.Context())
	const journal = `SELECT pg_current_wal_insert_lsn() - '0/0'`
	was, before, from := s.events, s.spent(), ask[float64](s.t, conn, journal)
	one := forAWhile(s.t, 3*time.Second, clients, func(n int) error { return active[n%len(active)].append() })
	s.settled()
	s.count()
	used, n := s.spent().minus(before), float64(s.events-was)
	name := fmt.Sprintf("append, %d at once, ", clients)
	r.add(name+"a second", "", one.perSecond)
	r.addMS(name+"p50", one.p50)
	r.addMS(name+"p99", one.p99)
	r.addMS(name+"of a processor", time.Duration(float64(used.program+used.postgres)/n))
	r.add(name+"into the journal", "B", (ask[float64](s.t, conn, journal)-from)/n)
}

// depth is how many pages lie between the root of the log's key and a record.
func (s *scaleSet) depth(conn *pgx.Conn) int {
	s.execute(`CREATE EXTENSION pageinspect`)
	defer s.execute(`DROP EXTENSION pageinspect`) // a backup would have it
	return ask[int](s.t, conn, `SELECT level + 1 FROM bt_metap('event_pkey')`)
}

// measureStates asks for the state of jobs that nobody looked at, and again.
func (s *scaleSet) measureStates(r *results) {
	var cold, kept []time.Duration
	for _, j := range s.some(60, uint64(s.jobs)+10) {
		path := "/api/v1/jobs/" + j.house.job.String() + "/state"
		look := func() error { _, err := j.of.site.do("GET", path, "application/json", nil); return err }
		cold, kept = append(cold, timed(s.t, look)), append(kept, timed(s.t, look))
	}
	r.addMS("state of a job from nothing, p50", quantile(cold, 0.5))
	r.addMS("state of a job from nothing, p95", quantile(cold, 0.95))
	r.addMS("state of a job kept, p50", quantile(kept, 0.5))
}

// measureReads asks for what people and phones ask for often.
func (s *scaleSet) measureReads(r *results) {
	for i, name := range []string{"usual", "large"}[:min(2, len(s.all))] {
		r.add("jobs of the "+name+" firm", "", float64(len(s.all[i].jobs)))
		s.looks(r, "day sheet of the "+name+" firm", s.all[i], "/")
	}
	f := s.all[min(1, len(s.all)-1)]
	job := f.jobs[0].house
	for _, read := range []struct{ name, path string }{
		{"search, many found", "/search?q=kitchen+laundry"},
		{"search, none found", "/search?q=thylacine"},
		{"book by kind", "/jobs/" + job.job.String() + "/book?kind=signed"},
		{"jobs of the API", "/api/v1/jobs"},
		{"records of the API", fmt.Sprintf("/api/v1/jobs/%s/events?after=%d&limit=100", job.job, f.jobs[0].length/2)},
		{"phone asks what is new", "/api/v1/phone?device=" + job.device.String()},
	} {
		s.looks(r, read.name, f, read.path)
	}
	for _, f := range s.all {
		if at := len(f.jobs); at > 0 && f.jobs[0].number == longJob {
			path := "/jobs/" + f.jobs[0].house.job.String() + "/book"
			r.addMS("book of the longest job, the first time", timed(s.t, func() error { f.site.page(s.t, path); return nil }))
			s.looks(r, "book of the longest job", f, path)
		}
	}
}

// looks asks for one address again and again, the first time uncounted.
func (s *scaleSet) looks(r *results, name string, f *scaleFirm, path string) {
	const times = 40
	f.site.page(s.t, path)
	before := s.spent()
	var took []time.Duration
	for range times {
		took = append(took, timed(s.t, func() error { f.site.page(s.t, path); return nil }))
	}
	used := s.spent().minus(before)
	r.addMS(name+", p50", quantile(took, 0.5))
	r.addMS(name+", p95", quantile(took, 0.95))
	r.addMS(name+", of a processor", (used.program+used.postgres)/times)
}

// audit reads every record and fails on the smallest thing that is not as it was sealed.
func (s *scaleSet) audit(r *results) {
	conn, err := pgx.Connect(s.t.Context(), s.dsn(pgdb.Backup))
	must(s.t, err)
	defer conn.Close(s.t.Context())
	began := time.Now()
	report, err := pgaudit.Run(s.t.Context(), conn, pgaudit.Check{})
	must(s.t, err)
	if len(report.Faults) > 0 || report.Events < s.events {
		s.t.Fatalf("%d of %d records were read, %d things are wrong: %.5q", report.Events, s.events, len(report.Faults), report.Faults)
	}
	r.add("all records read and their trees compared", "s", time.Since(began).Seconds())
}

// measureBackup copies everything, brings it back, which reads every record, and throws
// both away.
func (s *scaleSet) measureBackup(r *results, size int64) {
	dir := openFolder(s.t)
	defer os.RemoveAll(dir)
	to, back := filepath.Join(dir, "backup"), filepath.Join(dir, "back")
	_, took := s.run("backup", "--quiet", "--to", to, "--data", s.dir)
	r.add("backup", "s", took.Seconds())
	r.add("backup, of the database", "MB/s", float64(size)/1e6/took.Seconds())
	said, took := s.run("restore", "--quiet", "--from", to, "--data", back)
	r.add("restore, all records read", "s", took.Seconds())
	fmt.Printf("restore: %s\n", strings.Join(strings.Fields(said), " "))
}
