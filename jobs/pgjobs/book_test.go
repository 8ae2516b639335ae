package pgjobs_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
)

// Other forms of a word are found by its stem, after the word itself.
func TestSearchStems(t *testing.T) {
	t.Parallel()
	store := pgjobs.New(pgtest.New(t).App)
	firm, job := eventstest.NewFirm(t), eventstest.NewFirm(t)
	var all []jobs.Passage
	for i, words := range []string{"it settles again", "the pads are settling", "settlement of the chimney", "nothing of that"} {
		all = append(all, jobs.Passage{Job: job, Seq: int64(i + 1), Kind: events.KindNote, At: time.Unix(int64(i), 0), Words: words})
	}
	if err := store.SaveBook(t.Context(), jobs.BookStretch{Firm: firm, Job: job, Upto: 4, Version: 1, Passages: all}); err != nil {
		t.Fatal(err)
	}
	found, err := store.SearchBooks(t.Context(), firm, jobs.Search{Terms: []jobs.Term{{Word: "settling"}}, Limit: 10})
	if err != nil || len(found) != 2 || found[0].Seq != 2 || found[1].Seq != 1 {
		t.Errorf("%+v, %v, want the word itself and then another form of it", found, err)
	}
}

// Under row security only leakproof operators come to an index: both the word
// itself and those that begin with it do.
func TestSearchByIndex(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	store, firm := pgjobs.New(db.App), eventstest.NewFirm(t)
	job := eventstest.NewFirm(t)
	s := jobs.BookStretch{Firm: firm, Job: job, Upto: 2000, Version: 1}
	for i := range int64(2000) {
		s.Passages = append(s.Passages, jobs.Passage{Job: job, Seq: i + 1, Kind: events.KindNote, At: time.Unix(i, 0), Words: fmt.Sprintf("word%d of many", i)})
	}
	if err := store.SaveBook(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	for _, where := range []string{`word = 'word7'`, `word > 'word7' AND word < 'word8'`} {
		var plan []string
		err := db.App.WithFirm(t.Context(), firm, func(tx pgx.Tx) error {
			rows, err := tx.Query(t.Context(), `EXPLAIN SELECT seq FROM book_word WHERE firm = $1 AND `+where, firm.String())
			if err != nil {
				return err
			}
			plan, err = pgx.CollectRows(rows, pgx.RowTo[string])
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		at := strings.Join(plan, "\n")
		if _, conditions, ok := strings.Cut(at, "Index Cond:"); !ok || !strings.Contains(conditions, "word") {
			t.Errorf("%s does not come to the index:\n%s", where, at)
		}
	}
}
