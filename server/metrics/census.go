package metrics

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"relevel/server/census"
)

// ofAllFirms is a collector of what is counted over all firms. Every server shows the
// same: take the largest, not the sum.
type ofAllFirms struct {
	latest func() (census.Census, bool) // nil where nobody may look over all firms
	now    func() time.Time

	readable, fresh                  figure
	photos, photoAge, damaged        figure
	tasks, taskAge                   figure
	unsent, unsentAge, gaps, missing figure
	doubts, apart, faults            figure
}

// WatchFirms shows what is counted over all firms; nil is that nobody may.
func (m *Metrics) WatchFirms(latest func() (census.Census, bool)) {
	m.registry.MustRegister(&ofAllFirms{
		latest: latest, now: time.Now,
		readable:  gaugeOf("relevel_census_readable", "1 where the server may count over all firms, 0 where RELEVEL_WORKER_DATABASE_URL is not set: then those figures are absent."),
		fresh:     gaugeOf("relevel_census_fresh", "1 while those figures are of now; 0 when the database does not answer, and they are absent."),
		photos:    gaugeOf("relevel_photos_waiting", "Photos that are not safe yet, of all firms: received and not kept, or stored and not read back.", "state"),
		photoAge:  gaugeOf("relevel_photos_waiting_oldest_age_seconds", "For how long the first of those has been so.", "state"),
		damaged:   gaugeOf("relevel_photos_damaged", "Photos that were kept and are lost from the store, of all firms, until somebody sends them again."),
		tasks:     gaugeOf("relevel_tasks", "Tasks of all firms: due, later, running, failing (to be tried again) or dead.", "kind", "state"),
		taskAge:   gaugeOf("relevel_tasks_due_oldest_age_seconds", "For how long the first task that is due has waited to be claimed; 0 where none is due.", "kind"),
		unsent:    gaugeOf("relevel_phones_unsent", "Phones that said that they have records to send, of all firms."),
		unsentAge: gaugeOf("relevel_phones_unsent_oldest_age_seconds", "How long ago the oldest record was made that a phone has not sent; 0 where there is none."),
		gaps:      gaugeOf("relevel_phones_with_gaps", "Phones of whose records some never arrived, of all firms."),
		missing:   gaugeOf("relevel_phone_missing_records", "How many records of phones never arrived, of all firms."),
		doubts:    gaugeOf("relevel_doubtful_places", "Places and datums whose height is in doubt, of all jobs."),
		apart:     gaugeOf("relevel_quarantined_records", "Records that were kept apart, looked at or not, of all firms."),
		faults:    gaugeOf("relevel_checkpoint_faults", "Times that a log was found not to be what was signed before, of all firms."),
	})
}

// Describe implements prometheus.Collector.
func (a *ofAllFirms) Describe(to chan<- *prometheus.Desc) {
	for _, f := range []figure{
		a.readable, a.fresh, a.photos, a.photoAge, a.damaged, a.tasks, a.taskAge,
		a.unsent, a.unsentAge, a.gaps, a.missing, a.doubts, a.apart, a.faults,
	} {
		to <- f.desc
	}
}

// Collect implements prometheus.Collector.
func (a *ofAllFirms) Collect(to chan<- prometheus.Metric) {
	a.readable.send(to, flag(a.latest != nil))
	if a.latest == nil {
		return
	}
	c, fresh := a.latest()
	a.fresh.send(to, flag(fresh))
	if !fresh {
		return
	}
	a.waiting(to, "received", c.Received)
	a.waiting(to, "stored", c.Stored)
	a.damaged.send(to, float64(c.Damaged))
	for _, t := range c.Tasks {
		a.sendTasks(to, t)
	}
	a.unsent.send(to, float64(c.Unsent.Count))
	a.unsentAge.send(to, a.age(c.Unsent.Oldest))
	a.gaps.send(to, float64(c.Gaps))
	a.missing.send(to, float64(c.Missing))
	a.doubts.send(to, float64(c.Doubts))
	a.apart.send(to, float64(c.Apart))
	a.faults.send(to, float64(c.Disagreed))
}

func (a *ofAllFirms) waiting(to chan<- prometheus.Metric, state string, w census.Waiting) {
	a.photos.send(to, float64(w.Count), state)
	a.photoAge.send(to, a.age(w.Oldest), state)
}

func (a *ofAllFirms) sendTasks(to chan<- prometheus.Metric, t census.Tasks) {
	for state, n := range map[string]int{"due": t.Due, "later": t.Later, "running": t.Running, "failing": t.Failing, "dead": t.Dead} {
		a.tasks.send(to, float64(n), t.Kind, state)
	}
	a.taskAge.send(to, a.age(t.OldestDue), t.Kind)
}

// age is how long ago something was, in seconds; 0 of nothing, and of what is to come by
// another clock.
func (a *ofAllFirms) age(t time.Time) float64 {
	if t.IsZero() {
		return 0
	}
	return max(0, a.now().Sub(t).Seconds())
}
