package signing_test

import (
	"bytes"
	"errors"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/events/pgproof"
	"relevel/events/proof"
	"relevel/events/proof/prooftest"
	"relevel/server/signing"
)

// desk is a signer on a log with one job.
type desk struct {
	*signing.Signer
	t         *testing.T
	firm, job events.ID
	make      *eventstest.Maker
	logged    *bytes.Buffer
}

func newDesk(t *testing.T, log events.Log, store proof.Store) *desk {
	t.Helper()
	d := &desk{t: t, firm: eventstest.NewFirm(t), job: eventstest.NewFirm(t), make: eventstest.NewMaker(t), logged: &bytes.Buffer{}}
	d.Signer = &signing.Signer{
		Log: log, Store: store, Ring: openRing(t, filepath.Join(t.TempDir(), "keys")),
		Now: func() time.Time { return began }, Logger: slog.New(slog.NewTextHandler(d.logged, nil)),
	}
	if err := log.Create(t.Context(), d.firm, d.job); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d *desk) append(n int) {
	d.t.Helper()
	if _, err := d.Log.Append(d.t.Context(), eventstest.BatchOf(d.firm, d.job, d.make.Notes(d.job, n)...)); err != nil {
		d.t.Fatal(err)
	}
}

// sign signs the head and opens what was signed as anybody would.
func (d *desk) sign() proof.Signed {
	d.t.Helper()
	k, err := d.Sign(d.t.Context(), d.firm, d.job)
	if err != nil {
		d.t.Fatal(err)
	}
	keys, err := d.Keys(d.t.Context())
	if err != nil {
		d.t.Fatal(err)
	}
	known, err := proof.Verifiers(keys)
	if err != nil {
		d.t.Fatal(err)
	}
	s, err := proof.Open(k.Note, known...)
	if err != nil || s.Size != k.Size || s.Root != k.Frontier.Root() {
		d.t.Fatalf("%+v opens as %+v, %v", k, s, err)
	}
	return s
}

func (d *desk) wantDisagreement(err error, held int64, why string) {
	d.t.Helper()
	if !errors.Is(err, signing.ErrDisagrees) {
		d.t.Errorf("%v, want %v", err, signing.ErrDisagrees)
	}
	faults, listErr := d.Store.ListFaults(d.t.Context(), d.firm, d.job)
	if listErr != nil || len(faults) != 1 || faults[0].Held != held || !strings.Contains(faults[0].Why, why) {
		d.t.Errorf("%+v, %v, want one about %d records: %s", faults, listErr, held, why)
	}
	if got := strings.Count(d.logged.String(), "level=ERROR"); got != 1 {
		d.t.Errorf("%d errors were logged:\n%s", got, d.logged)
	}
}

// Checkpoints follow the head, each joined to the one before by a proof.
func TestCheckpointsFollowTheHead(t *testing.T) {
	d := newDesk(t, eventstest.NewMemLog(), prooftest.NewMemory())
	if k, err := d.Sign(t.Context(), d.firm, d.job); err != nil || k.Size != 0 {
		t.Fatalf("an empty log: %+v, %v", k, err)
	}
	var before proof.Signed
	for _, n := range []int{1, 1, 5, 130} {
		d.append(n)
		s := d.sign()
		if again := d.sign(); !bytes.Equal(again.Note, s.Note) {
			t.Errorf("what was signed was signed anew:\n%s%s", s.Note, again.Note)
		}
		head, err := d.Log.Head(t.Context(), d.firm, d.job)
		if err != nil || s.Size != head.Seq || s.Root != head.Root || s.Origin != "relevel.example/firms/"+d.firm.String()+"/jobs/"+d.job.String() {
			t.Errorf("%+v, want it of %+v, %v", s, head, err)
		}
		tree, err := d.Tree(t.Context(), d.firm, d.job, proof.Kept{Size: s.Size, Note: s.Note})
		if err != nil {
			t.Fatal(err)
		}
		joint, err := tree.Continue(before.Size, s.Size)
		if err != nil || (before.Size > 0 && joint.Joins(before.Checkpoint, s.Checkpoint) != nil) {
			t.Errorf("%d to %d: %v", before.Size, s.Size, err)
		}
		before = s
	}
	if d.logged.Len() > 0 {
		t.Errorf("logged:\n%s", d.logged)
	}
}

func TestTwoKeysSign(t *testing.T) {
	d := newDesk(t, eventstest.NewMemLog(), prooftest.NewMemory())
	old := keysOf(t, d.Ring)[0]
	d.append(1)
	d.sign()
	fresh, err := d.Ring.Add("relevel.example", began, &seeded{7})
	if err != nil {
		t.Fatal(err)
	}
	d.append(1)
	if s := d.sign(); len(s.By) != 2 {
		t.Errorf("signed by %v", s.By)
	}
	if _, err := d.Ring.Retire(old.ID(), began); err != nil {
		t.Fatal(err)
	}
	d.append(1)
	if s := d.sign(); len(s.By) != 1 || s.By[0].String() != fresh.ID() {
		t.Errorf("signed by %v", s.By)
	}
	keys, err := d.Keys(t.Context())
	if err != nil || len(keys) != 2 || keys[0].Until.IsZero() == keys[1].Until.IsZero() {
		t.Errorf("%+v, %v, want one of two retired", keys, err)
	}
}

// seeded gives bytes that are the same each time.
type seeded struct{ n byte }

func (s *seeded) Read(p []byte) (int, error) {
	for i := range p {
		s.n = s.n*5 + 1
		p[i] = s.n
	}
	return len(p), nil
}

// changed opens a real database to whoever may do everything, and lets them.
func changed(t *testing.T, db *pgtest.DB, statements ...string) {
	t.Helper()
	conn := db.Connect(localpg.Superuser)
	for _, table := range []string{"event", "checkpoint"} {
		statements = append([]string{"ALTER TABLE " + table + " DISABLE TRIGGER ALL"}, append(statements, "ALTER TABLE "+table+" ENABLE ALWAYS TRIGGER "+table+"_unchanged")...)
	}
	for _, s := range statements {
		if _, err := conn.Exec(t.Context(), s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
}

// Whoever has the whole database in hand changes a record, its leaf, its head: what
// was signed before stays in the way.
func TestChangedLogsAreNotSigned(t *testing.T) {
	for name, change := range map[string]struct {
		sql, why string
		hourly   bool // found when all leaves are read
	}{
		"another head":            {sql: `UPDATE head SET root = sha256('x')`, why: "its records are others"},
		"a new leaf":              {sql: `UPDATE event SET leaf = sha256('x') WHERE seq = 7`, why: "its records are others"},
		"a record less":           {sql: `UPDATE head SET seq = 3, root = (SELECT leaf FROM event WHERE seq = 1)`, why: "records are missing at the end"},
		"a gap":                   {sql: `DELETE FROM event WHERE seq = 7`, why: "records are missing"},
		"another frontier signed": {sql: `UPDATE checkpoint SET frontier = sha256('x') || sha256('y')`, why: "the last checkpoint is not as it was signed"},
		"another note":            {sql: `UPDATE checkpoint SET note = convert_to(replace(convert_from(note, 'UTF8'), E'\n5\n', E'\n6\n'), 'UTF8')`, why: "the last checkpoint is not as it was signed"},
		"an old leaf":             {sql: `UPDATE event SET leaf = sha256('x') WHERE seq = 2`, why: "its records are others", hourly: true},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			db := pgtest.New(t)
			d := newDesk(t, pglog.New(db.App), pgproof.New(db.App))
			d.append(5)
			d.sign()
			d.append(4)
			changed(t, db, change.sql)
			held := int64(5)
			_, err := d.Sign(t.Context(), d.firm, d.job)
			if change.hourly {
				if err != nil {
					t.Fatal(err)
				}
				held = 9
				if _, err := d.SignFirm(t.Context(), d.firm); err != nil {
					t.Fatal(err)
				}
				err = signing.ErrDisagrees
			}
			d.wantDisagreement(err, held, change.why)
			if change.hourly {
				d.append(1)
			}
			_, err = d.Sign(t.Context(), d.firm, d.job)
			d.wantDisagreement(err, held, change.why)
			if k, err := d.Store.LastCheckpoint(t.Context(), d.firm, d.job); err != nil || k.Size > held+1 {
				t.Errorf("it was signed: %+v, %v", k, err)
			}
		})
	}
}

// The firm's log has the last checkpoint of each job that has a new one, and its own
// checkpoint continues the one before.
func TestFirmLog(t *testing.T) {
	d := newDesk(t, eventstest.NewMemLog(), prooftest.NewMemory())
	if _, err := d.SignFirm(t.Context(), d.firm); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Store.LastFirmCheckpoint(t.Context(), d.firm); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("nothing was signed: %v", err)
	}
	var before proof.Signed
	for round := range int64(3) {
		for range 2 { // of which the last counts
			d.append(3)
			d.sign()
		}
		for range 2 { // the second time there is nothing new
			if _, err := d.SignFirm(t.Context(), d.firm); err != nil {
				t.Fatal(err)
			}
		}
		k, err := d.Store.LastFirmCheckpoint(t.Context(), d.firm)
		if err != nil {
			t.Fatal(err)
		}
		s, err := proof.Peek(k.Note)
		if err != nil || s.Size != round+1 || s.Origin != "relevel.example/firms/"+d.firm.String() {
			t.Errorf("%+v, %v", s, err)
		}
		entries, err := d.Store.ListEntries(t.Context(), d.firm, 0, 10)
		if err != nil || int64(len(entries)) != round+1 || entries[round].Size != 6*(round+1) {
			t.Fatalf("%+v, %v", entries, err)
		}
		var leaves []events.Hash
		for _, e := range entries {
			leaves = append(leaves, e.Leaf)
		}
		joint, err := proof.NewTree(leaves).Continue(before.Size, s.Size)
		if err != nil || (before.Size > 0 && joint.Joins(before.Checkpoint, s.Checkpoint) != nil) {
			t.Errorf("round %d: %v", round, err)
		}
		before = s
	}
}

// A log that is put right is signed again; what was found stays.
func TestAMendedLogIsSigned(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	d := newDesk(t, pglog.New(db.App), pgproof.New(db.App))
	d.append(5)
	d.sign()
	changed(t, db, `CREATE TABLE was AS SELECT * FROM event`, `UPDATE event SET leaf = sha256('x') WHERE seq = 2`)
	k, err := d.Store.LastCheckpoint(t.Context(), d.firm, d.job)
	if err != nil {
		t.Fatal(err)
	}
	_, err = d.Tree(t.Context(), d.firm, d.job, k)
	d.wantDisagreement(err, 5, "its records are others")
	d.append(1)
	_, err = d.Sign(t.Context(), d.firm, d.job)
	d.wantDisagreement(err, 5, "its records are others")
	changed(t, db, `UPDATE event SET leaf = was.leaf FROM was WHERE event.firm = was.firm AND event.job = was.job AND event.seq = was.seq`)
	if s := d.sign(); s.Size != 6 {
		t.Errorf("signed up to %d", s.Size)
	}
	d.wantDisagreement(signing.ErrDisagrees, 5, "its records are others")
}
