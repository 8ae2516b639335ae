package jobs_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/jobs"
)

// erasedLog is a job whose fourth record, a reading, and a photo of its fifth are
// said to be erased.
func erasedLog(t *testing.T) (log *eventstest.MemLog, firm, job events.ID) {
	t.Helper()
	log, firm, job = eventstest.NewMemLog(), eventstest.NewFirm(t), eventstest.NewFirm(t)
	if err := log.Create(t.Context(), firm, job); err != nil {
		t.Fatal(err)
	}
	m := eventstest.NewMaker(t)
	setup := eventstest.NewFirm(t)
	note := string(m.Note(job).Raw)
	for _, in := range []events.Incoming{
		m.Event(job, events.KindPlan, `{"supports":[{"id":"B1-1","x":0,"y":0}],"datums":[{"id":"D1","x":-2,"y":0,"height":0}],"bearers":[{"id":"B1","supports":["B1-1"]}]}`),
		m.EventID(setup, job, events.KindSetup, `{"instrument":"laser","datums":[{"datum":"D1","staff":1000}]}`),
		m.Event(job, events.KindReading, `{"setup":"`+setup.String()+`","point":"B1-1","face":"bearer","staff":1012}`),
		m.Event(job, events.KindReading, `{"setup":"`+setup.String()+`","point":"B1-1","face":"bearer","staff":1014}`),
		m.Raw(strings.TrimSuffix(note, "}") + `,"files":[{"type":"photo","sha256":"` + strings.Repeat("ab", 32) + `","bytes":9,"media_type":"image/jpeg"}]}`),
		m.Event(job, events.KindErased, `{"records":[4],"files":[{"record":5,"no":1}],"why":"asked for"}`),
		m.Note(job),
	} {
		if _, err := log.Append(t.Context(), eventstest.BatchOf(firm, job, in)); err != nil {
			t.Fatal(err)
		}
	}
	return log, firm, job
}

func readLog(t *testing.T, log events.Log, firm, job events.ID) []events.Stored {
	t.Helper()
	all, err := log.Read(t.Context(), firm, job, 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// What is said to be erased counts no more from that record on, whether or not its
// bytes are gone yet, and however the events were taken in.
func TestSaidErased(t *testing.T) {
	log, firm, job := erasedLog(t)
	before := readLog(t, log, firm, job)
	log.Erase(firm, job, 4)
	after := readLog(t, log, firm, job)
	want := jobs.Refold(job, after).Picture(eventstest.RecordedAt)
	if s, _ := want.Support("B1-1"); s.Present == nil || s.Present.MM != -12 {
		t.Errorf("%+v is not what the other reading says", s.Present)
	}
	if len(want.SetAside) != 1 || want.SetAside[0].Seq != 4 || len(want.Lists.Erasures) != 1 {
		t.Errorf("set aside %+v, erasures %+v", want.SetAside, want.Lists.Erasures)
	}
	replay := jobs.NewReplay(job)
	for _, e := range before {
		replay.Add(e)
	}
	for name, s := range map[string]*jobs.State{"Refold": jobs.Refold(job, before), "Replay": replay.State()} {
		if diff := cmp.Diff(want, s.Picture(eventstest.RecordedAt)); diff != "" {
			t.Errorf("%s before the bytes are gone (-after +before):\n%s", name, diff)
		}
		if l := s.Line(before[3]); l.Text != "erased at somebody's request" || l.Staff != nil {
			t.Errorf("%s: the line says %+v", name, l)
		}
		if _, said := s.Passage(before[3]); said {
			t.Errorf("%s: its words can be searched", name)
		}
		if e := s.Entry(jobs.Open(before[3])); e.Body != nil || !e.By.IsZero() {
			t.Errorf("%s: its entry has %+v", name, e)
		}
		if e := s.Entry(jobs.Open(before[4])); len(e.Files) != 0 || e.Body == nil {
			t.Errorf("%s: of the note stays %+v", name, e)
		}
	}
}

// The record of an erasure is no work on the site, and is not taken back.
func TestErasedIsNoWork(t *testing.T) {
	log, firm, job := erasedLog(t)
	all := readLog(t, log, firm, job)
	days := jobs.Refold(job, all[:5]).Diary()
	if diff := cmp.Diff(days, jobs.Refold(job, all[:6]).Diary()); diff == "" {
		t.Error("the erased reading still stands in the diary")
	}
	m := eventstest.NewMaker(t)
	void := m.Event(job, events.KindVoid, `{"event":"`+all[5].ID.String()+`","why":"no"}`)
	if _, err := log.Append(t.Context(), eventstest.BatchOf(firm, job, void)); err != nil {
		t.Fatal(err)
	}
	p := jobs.Refold(job, readLog(t, log, firm, job)).Picture(eventstest.RecordedAt)
	if len(p.Lists.Erasures) != 1 || len(p.SetAside) != 2 || p.SetAside[1].Reason != "this cannot be voided: record the thing again" {
		t.Errorf("%+v %+v", p.Lists.Erasures, p.SetAside)
	}
}

// A record speaks of those before it alone.
func TestErasedAhead(t *testing.T) {
	log, firm, job := erasedLog(t)
	m := eventstest.NewMaker(t)
	for _, in := range []events.Incoming{m.Event(job, events.KindErased, `{"records":[9],"why":"asked for"}`), m.Note(job)} {
		if _, err := log.Append(t.Context(), eventstest.BatchOf(firm, job, in)); err != nil {
			t.Fatal(err)
		}
	}
	all := readLog(t, log, firm, job)
	if l := jobs.Refold(job, all).Line(all[8]); l.Text == "erased at somebody's request" {
		t.Errorf("%+v", l)
	}
}
