package pglog_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

// job is one job of one firm and a device that records on it.
type job struct {
	t        *testing.T
	db       *pgtest.DB
	make     *eventstest.Maker
	firm, id events.ID
}

func newJob(t *testing.T, db *pgtest.DB) *job {
	t.Helper()
	j := &job{t: t, db: db, make: eventstest.NewMaker(t), firm: eventstest.NewFirm(t), id: eventstest.NewFirm(t)}
	if err := pglog.New(db.App).Create(t.Context(), j.firm, j.id); err != nil {
		t.Fatal(err)
	}
	return j
}

func (j *job) append(log events.Log, list ...events.Incoming) events.Receipt {
	j.t.Helper()
	r, err := log.Append(j.t.Context(), eventstest.BatchOf(j.firm, j.id, list...))
	if err != nil {
		j.t.Fatal(err)
	}
	return r
}

// check reads the whole log back and holds it to its tree.
func (j *job) check(log events.Log) []events.Stored {
	j.t.Helper()
	head, err := log.Head(j.t.Context(), j.firm, j.id)
	if err != nil {
		j.t.Fatal(err)
	}
	all, err := log.Read(j.t.Context(), j.firm, j.id, 0, 100_000)
	if err != nil {
		j.t.Fatal(err)
	}
	eventstest.CheckWhole(j.t, j.firm, j.id, head, all)
	return all
}

// Two servers append to one job in turn: each finds that the head it remembers
// has moved, and goes on from where the other left.
func TestTwoServers(t *testing.T) {
	db := pgtest.New(t)
	j := newJob(t, db)
	a, b := pglog.New(db.App), pglog.New(db.Open(pgdb.App))
	for range 10 {
		j.append(a, j.make.Note(j.id))
		j.append(b, j.make.Note(j.id), j.make.Note(j.id))
	}
	if all := j.check(a); len(all) != 30 {
		t.Errorf("%d events, want 30", len(all))
	}
}

// A repeat that reaches another server is recognised there.
func TestRepeatAtAnotherServer(t *testing.T) {
	db := pgtest.New(t)
	j := newJob(t, db)
	a, b := pglog.New(db.App), pglog.New(db.Open(pgdb.App))
	j.append(b, j.make.Note(j.id)) // so that b has a head to trust
	e := j.make.Note(j.id)
	first := j.append(a, e)
	again := j.append(b, e)
	if again.Results[0].Outcome != events.WasRepeated || again.Results[0].Seq != first.Results[0].Seq {
		t.Errorf("%+v, want number %d repeated", again.Results[0], first.Results[0].Seq)
	}
	j.check(b)
}

// What jsonb refuses is stored all the same, without the derived column.
func TestBodiesThatJSONBRefuses(t *testing.T) {
	db := pgtest.New(t)
	for name, text := range map[string]string{
		"NUL":           `"\u0000"`,
		"HalfSurrogate": `"\ud800"`,
		"HugeNumber":    `1e400000`,
		"Deep":          strings.Repeat("[", 5000) + strings.Repeat("]", 5000),
	} {
		t.Run(name, func(t *testing.T) {
			j := newJob(t, db)
			log := pglog.New(db.App)
			e := j.make.Event(j.id, events.KindNote, `{"text":`+text+`}`)
			j.append(log, j.make.Note(j.id)) // the next goes the fast way
			j.append(log, e)
			all := j.check(log)
			if got := string(all[1].Raw); got != string(e.Raw) {
				t.Errorf("the bytes are %q, want %q", got, e.Raw)
			}
		})
	}
}

func TestBodyIsQueryable(t *testing.T) {
	db := pgtest.New(t)
	j := newJob(t, db)
	j.append(pglog.New(db.App), j.make.Event(j.id, events.KindNote, `{"text":"wet"}`))
	var text string
	row := db.Connect(pgdb.Owner).QueryRow(t.Context(), `SELECT body->>'text' FROM event_bytes WHERE firm = $1`, j.firm.String())
	if err := row.Scan(&text); err != nil || text != "wet" {
		t.Errorf("%q, %v", text, err)
	}
}

// Once a person's bytes are erased, what is left says so and the tree holds.
func TestErased(t *testing.T) {
	db := pgtest.New(t)
	j := newJob(t, db)
	log := pglog.New(db.App)
	gone := j.make.Note(j.id)
	j.append(log, j.make.Note(j.id), gone, j.make.Note(j.id))
	eraser := db.Open(pgdb.Eraser)
	err := eraser.WithFirm(t.Context(), j.firm, func(tx pgx.Tx) error {
		_, err := tx.Exec(t.Context(), `DELETE FROM event_bytes WHERE firm = $1 AND job = $2 AND seq = 2`, j.firm.String(), j.id.String())
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	all := j.check(log)
	if !all[1].Erased || all[1].Raw != nil || all[1].ID != gone.Event.ID || all[0].Erased {
		t.Errorf("%+v", all[1])
	}
	if r := j.append(log, gone); r.Results[0].Outcome != events.WasErased || r.Results[0].Seq != 2 {
		t.Errorf("sent again: %+v", r.Results[0])
	}
}

// A database that is away is an error soon, and nothing is acknowledged.
func TestAway(t *testing.T) {
	db := pgtest.Own(t)
	j := newJob(t, db)
	log := pglog.New(db.App)
	j.append(log, j.make.Note(j.id))
	if err := db.Server.Stop(); err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	_, err := log.Append(t.Context(), eventstest.BatchOf(j.firm, j.id, j.make.Note(j.id)))
	if !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("append: %v, want ErrUnavailable", err)
	}
	if _, err := log.Read(t.Context(), j.firm, j.id, 0, 10); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("read: %v, want ErrUnavailable", err)
	}
	if took := time.Since(start); took > 10*time.Second {
		t.Errorf("it took %s to say so", took)
	}
}

// What is stored is what json.RawMessage cuts out of a request.
func TestExactBytesOfARequest(t *testing.T) {
	db := pgtest.New(t)
	j := newJob(t, db)
	log := pglog.New(db.App)
	note := string(j.make.Note(j.id).Raw)
	spaced := strings.Replace(note, `"body":{`, "\"body\" :\t{ \"text\": 1, ", 1) // a key twice, and space
	var batch struct{ Events []json.RawMessage }
	if err := json.Unmarshal([]byte(`{"events":[ `+spaced+` ]}`), &batch); err != nil {
		t.Fatal(err)
	}
	in, err := events.Receive(batch.Events[0])
	if err != nil {
		t.Fatal(err)
	}
	j.append(log, in)
	if got := string(j.check(log)[0].Raw); got != spaced {
		t.Errorf("%q, want %q", got, spaced)
	}
}
