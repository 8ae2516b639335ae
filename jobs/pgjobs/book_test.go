package pgjobs_test

import (
	"fmt"
	"slices"
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
	for i, words := range []string{"it settles again", "the pads are settling", "settlement of the chimney", "nothing of that", "one pad more", "we can not come in", "the cans of paint"} {
		all = append(all, jobs.Passage{Job: job, Seq: int64(i + 1), Kind: events.KindNote, At: time.Unix(int64(i), 0), Words: words})
	}
	if err := store.SaveBook(t.Context(), jobs.BookStretch{Firm: firm, Job: job, Upto: 7, Version: 1, Passages: all}); err != nil {
		t.Fatal(err)
	}
	for word, want := range map[string][]int64{
		"settling": {2, 1},
		"pads":     {2, 5}, // pad is its own stem
		"cans":     {7},    // can has none
	} {
		found, err := store.SearchBooks(t.Context(), firm, jobs.Search{Terms: []jobs.Term{{Word: word}}, Limit: 10})
		var seqs []int64
		for _, p := range found {
			seqs = append(seqs, p.Seq)
		}
		if err != nil || !slices.Equal(seqs, want) {
			t.Errorf("%s: %v, %v, want %v: the word itself and then another form of it", word, seqs, err, want)
		}
	}
}

// Under row security only leakproof operators come to an index: the word itself, those
// that begin with it, those of the same stem and the names of people do. Where one does
// not, each search reads all words of a firm.
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
	sql, args := pgjobs.SearchFor(firm, jobs.Search{Terms: []jobs.Term{{Word: "word7", People: []events.ID{firm}}}, Limit: 10})
	var plan []string
	err := db.App.WithFirm(t.Context(), firm, func(tx pgx.Tx) error {
		if _, err := tx.Exec(t.Context(), `SET LOCAL enable_seqscan = off`); err != nil { // the table is small
			return err
		}
		rows, err := tx.Query(t.Context(), `EXPLAIN `+sql, args...)
		if err != nil {
			return err
		}
		plan, err = pgx.CollectRows(rows, pgx.RowTo[string])
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	scans := 0
	for i, line := range plan {
		if !strings.Contains(line, "Scan") || !strings.Contains(line, " on book_word") && !strings.Contains(line, " using book_word") {
			continue
		}
		scans++
		if i+1 == len(plan) || !strings.Contains(plan[i+1], "Cond: (") || !strings.Contains(plan[i+1], "word ") {
			t.Errorf("words are read without an index on them:\n%s", strings.Join(plan[i:], "\n"))
		}
	}
	if scans < 4 {
		t.Errorf("%d looks at words, want one for each way to find them:\n%s", scans, strings.Join(plan, "\n"))
	}
}
