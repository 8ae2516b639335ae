package pgaudit_test

import (
	"crypto/rand"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgaudit"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server/signing"
)

// records is how many each of two jobs has; some were signed on the way.
const records = 7

type database struct {
	*pgtest.DB
	firm, job events.ID
	log       *pglog.Log
	events    *eventstest.Maker
	signer    *signing.Signer
}

func fill(t *testing.T) *database {
	t.Helper()
	d := &database{DB: pgtest.New(t), firm: eventstest.NewFirm(t), events: eventstest.NewMaker(t)}
	d.log = pglog.New(d.App)
	if err := pgjobs.New(d.App).CreateFirm(t.Context(), jobs.Firm{ID: d.firm, Name: "A firm", Words: "AU", Units: "mm", CreatedAt: time.Now()}); err != nil {
		t.Fatal(err)
	}
	ring, err := signing.OpenRing(filepath.Join(t.TempDir(), "keys"), "relevel.example", time.Now(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	d.signer = &signing.Signer{Log: d.log, Store: pgproof.New(d.App), Ring: ring, Now: time.Now, Logger: slog.New(slog.DiscardHandler)}
	for range 2 {
		d.job = eventstest.NewFirm(t)
		if err := d.log.Create(t.Context(), d.firm, d.job); err != nil {
			t.Fatal(err)
		}
		for n := range records {
			d.record(t, d.events.Note(d.job))
			if n%3 == 1 {
				d.sign(t)
			}
		}
	}
	d.sign(t)
	if _, err := d.signer.SignFirm(t.Context(), d.firm); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d *database) record(t *testing.T, in events.Incoming) {
	t.Helper()
	if _, err := d.log.Append(t.Context(), eventstest.BatchOf(d.firm, d.job, in)); err != nil {
		t.Fatal(err)
	}
}

func (d *database) sign(t *testing.T) {
	t.Helper()
	if _, err := d.signer.Sign(t.Context(), d.firm, d.job); err != nil {
		t.Fatal(err)
	}
}

func (d *database) audit(t *testing.T, c pgaudit.Check) pgaudit.Report {
	t.Helper()
	r, err := pgaudit.Run(t.Context(), d.Connect(pgdb.Backup), c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// change does what no role may, as whoever holds the disk can.
func (d *database) change(t *testing.T, statements ...string) {
	t.Helper()
	conn := d.Connect("postgres")
	for _, table := range []string{"event", "event_bytes", "checkpoint", "firm_leaf", "firm_checkpoint"} {
		statements = append([]string{"ALTER TABLE " + table + " DISABLE TRIGGER USER"}, statements...)
	}
	for _, sql := range statements {
		if _, err := conn.Exec(t.Context(), sql, pgx.QueryExecModeSimpleProtocol); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
}

func TestRunOK(t *testing.T) {
	d := fill(t)
	head, err := d.log.Head(t.Context(), d.firm, d.job)
	if err != nil {
		t.Fatal(err)
	}
	known := []pgaudit.Head{{Firm: d.firm, Job: d.job, Seq: head.Seq, Root: head.Root}}
	d.record(t, d.events.Note(d.job)) // more than was known then
	r := d.audit(t, pgaudit.Check{Known: known})
	if len(r.Faults) > 0 || r.Firms != 1 || r.Jobs != 2 || r.Events != 2*records+1 || r.Checkpoints != 5 || r.FirmCheckpoints != 1 {
		t.Errorf("%+v", r)
	}
	owner, err := pgaudit.Run(t.Context(), d.Connect(pgdb.Owner), pgaudit.Check{})
	if err != nil || owner.Events != r.Events {
		t.Errorf("as the owner: %+v, %v", owner, err)
	}
}

// What was erased and said to be is no fault; what nobody said is.
func TestErased(t *testing.T) {
	d := fill(t)
	d.record(t, d.events.Event(d.job, events.KindErased, `{"records":[2],"why":"asked for"}`))
	eraser := pglog.NewEraser(d.Open(pgdb.Eraser))
	for _, step := range []struct {
		seq    int64
		faults int
	}{{2, 0}, {4, 1}} {
		if _, err := eraser.EraseRecords(t.Context(), d.firm, d.job, []int64{step.seq}); err != nil {
			t.Fatal(err)
		}
		r := d.audit(t, pgaudit.Check{})
		if len(r.Faults) != step.faults || step.faults > 0 && !strings.Contains(r.Faults[0], "the content of record 4 is gone") {
			t.Errorf("after record %d: %+v", step.seq, r)
		}
	}
}

// Whatever is changed behind the program's back is found, and named.
func TestFaults(t *testing.T) {
	const last = ` AND job = (SELECT max(job::text)::uuid FROM head)`
	for name, test := range map[string]struct{ sql, says string }{
		"ARecord":          {`DELETE FROM event WHERE seq = 3` + last, "record 3 is missing"},
		"TheLastRecord":    {`DELETE FROM event WHERE seq = 7` + last, "records 7 to 7 are missing at the end"},
		"Bytes":            {`UPDATE event_bytes SET bytes = set_byte(bytes, 9, 65) WHERE seq = 4` + last, "record 4 is not as it was sealed"},
		"ARow":             {`UPDATE event SET recorded_at = recorded_at + interval '1 hour' WHERE seq = 5` + last, "record 5 is not as it was sealed"},
		"ALeaf":            {`UPDATE event SET leaf = set_byte(leaf, 0, get_byte(leaf, 0) # 1) WHERE seq = 1` + last, "record 1 is not as it was sealed"},
		"TheHead":          {`UPDATE head SET root = set_byte(root, 0, get_byte(root, 0) # 1) WHERE true` + last, "its head is not that of its records"},
		"NoHead":           {`DELETE FROM head WHERE true` + last, "it has records and no head"},
		"ACheckpoint":      {`UPDATE checkpoint SET note = set_byte(note, 110, get_byte(note, 110) # 1) WHERE size = 2` + last, "the checkpoint of 2 records"},
		"NoKey":            {`DELETE FROM public_key`, "no key that is known signed it"},
		"AnEntry":          {`DELETE FROM firm_leaf WHERE seq = 1`, "entry 1 of its log is missing"},
		"AnotherEntry":     {`UPDATE firm_leaf SET leaf = set_byte(leaf, 0, get_byte(leaf, 0) # 1) WHERE seq = 2`, "entry 2 of its log is not the checkpoint"},
		"TheEndOfFirmsLog": {`DELETE FROM firm_leaf WHERE seq = 2`, "its log was signed at 2 entries and is shorter"},
	} {
		t.Run(name, func(t *testing.T) {
			d := fill(t)
			d.change(t, test.sql)
			r := d.audit(t, pgaudit.Check{})
			if !strings.Contains(strings.Join(r.Faults, "\n"), test.says) {
				t.Errorf("want %q among %q", test.says, r.Faults)
			}
		})
	}
}

// A whole consistent state of earlier is found by whoever knew more.
func TestKnown(t *testing.T) {
	d := fill(t)
	other := eventstest.NewFirm(t)
	head, err := d.log.Head(t.Context(), d.firm, d.job)
	if err != nil {
		t.Fatal(err)
	}
	wrong := head.Root
	wrong[0] ^= 1
	for says, h := range map[string]pgaudit.Head{
		"it has 7 records and what the backup says of it has 9": {Firm: d.firm, Job: d.job, Seq: 9, Root: head.Root},
		"its records are others than what the backup says":      {Firm: d.firm, Job: d.job, Seq: 7, Root: wrong},
		"it is gone, and had 3 records":                         {Firm: d.firm, Job: other, Seq: 3},
	} {
		r := d.audit(t, pgaudit.Check{Known: []pgaudit.Head{h}})
		if len(r.Faults) != 1 || !strings.Contains(r.Faults[0], says) {
			t.Errorf("want %q, and it says %q", says, r.Faults)
		}
	}
}

// The plan for any job looks the bytes of each record up by its number: one that compares
// the records of a job with the bytes of all of them takes an hour for a long job.
func TestRecordsByNumber(t *testing.T) {
	at := fill(t).PlanForAny(pgdb.Backup, pgaudit.SelectRecords, "uuid", "uuid")
	if _, bytes, found := strings.Cut(at, "event_bytes_pkey on event_bytes"); !found || !strings.Contains(bytes, "seq = e.seq") || strings.Contains(at, "Join Filter") {
		t.Errorf("the bytes of a record are not looked up by its number:\n%s", at)
	}
}
