package jobstest

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

// memBook is what was read of one job's book.
type memBook struct {
	mark     jobs.BookMark
	passages []jobs.Passage
}

// BookMarks implements jobs.Books.
func (m *Memory) BookMarks(ctx context.Context, firm events.ID) (map[events.ID]jobs.BookMark, error) {
	marks := map[events.ID]jobs.BookMark{}
	err := m.call(ctx, "BookMarks", func() error {
		for k, b := range m.books {
			if k.firm == firm {
				marks[k.id] = b.mark
			}
		}
		return nil
	})
	return marks, err
}

// SaveBook implements jobs.Books.
func (m *Memory) SaveBook(ctx context.Context, s jobs.BookStretch) error {
	return m.call(ctx, "SaveBook", func() error {
		if s.Firm.IsZero() {
			return events.ErrNotFound
		}
		k := key{s.Firm, s.Job}
		b := m.books[k]
		if s.After == 0 {
			b = memBook{}
		} else if b.mark != (jobs.BookMark{Seq: s.After, Version: s.Version}) {
			return fmt.Errorf("save a book: %w", events.ErrConflict)
		}
		b.mark = jobs.BookMark{Seq: s.Upto, Version: s.Version}
		b.passages = append(slices.Clone(b.passages), s.Passages...)
		m.books[k] = b
		return nil
	})
}

// SearchBooks implements jobs.Books. It knows no other forms of a word.
func (m *Memory) SearchBooks(ctx context.Context, firm events.ID, s jobs.Search) (found []jobs.Passage, err error) {
	err = m.call(ctx, "SearchBooks", func() error {
		score := map[[2]any]int{}
		for k, b := range m.books {
			for _, p := range b.passages {
				if worth, all := worth(p, s.Terms); all && k.firm == firm && (s.Job.IsZero() || s.Job == p.Job) {
					found, score[[2]any{p.Job, p.Seq}] = append(found, p), worth
				}
			}
		}
		slices.SortFunc(found, func(a, b jobs.Passage) int {
			return cmp.Or(struckLast(a)-struckLast(b), score[[2]any{b.Job, b.Seq}]-score[[2]any{a.Job, a.Seq}], b.At.Compare(a.At), compareIDs(a.Job, b.Job), cmp.Compare(b.Seq, a.Seq))
		})
		found = found[min(s.Offset, len(found)):]
		found = found[:min(s.Limit, len(found))]
		return nil
	})
	return found, err
}

func struckLast(p jobs.Passage) int {
	if p.Struck {
		return 1
	}
	return 0
}

// worth is how well a passage matches, and whether all terms are found.
func worth(p jobs.Passage, terms []jobs.Term) (sum int, all bool) {
	index := p.Index()
	for _, term := range terms {
		best := 0
		for _, w := range index {
			switch {
			case w.Word == term.Word:
				best = max(best, 2*w.Weight)
			case len(term.Word) >= jobs.ShortestPrefix && strings.HasPrefix(w.Word, term.Word):
				best = max(best, w.Weight)
			case slices.ContainsFunc(term.People, func(id events.ID) bool { return w.Word == jobs.RecordedBy(id) }):
				best = max(best, w.Weight)
			}
		}
		if best == 0 {
			return 0, false
		}
		sum += best
	}
	return sum, len(terms) > 0
}

func passage(job events.ID, seq int64, points, words string) jobs.Passage {
	return jobs.Passage{Job: job, Seq: seq, Kind: events.KindNote, At: start.Add(time.Duration(seq) * time.Minute), Points: points, Words: words}
}

// found searches for the words of a text and compares the numbers of the passages.
func found(t *testing.T, s jobs.Store, firm events.ID, text string, want ...int64) {
	t.Helper()
	search := jobs.Search{Limit: 10}
	for _, w := range jobs.Asked(text) {
		search.Terms = append(search.Terms, jobs.Term{Word: w})
	}
	wantFound(t, s, firm, search, text, want...)
}

func wantFound(t *testing.T, s jobs.Store, firm events.ID, search jobs.Search, what string, want ...int64) {
	t.Helper()
	list, err := s.SearchBooks(t.Context(), firm, search)
	must(t, err)
	var got []int64
	for _, p := range list {
		got = append(got, p.Seq)
	}
	if diff := gocmp.Diff(want, got); diff != "" {
		t.Errorf("%q (-want +got):\n%s", what, diff)
	}
}

func bookSearched(t *testing.T, s jobs.Store) {
	firm, other := newFirm(t, s).ID, newFirm(t, s).ID
	job, mere := newID(t), newID(t)
	all := []jobs.Passage{
		passage(job, 1, "", "wet rot under the bath"),
		passage(job, 2, "B2-3", "the bearer is wet, Māori pā’s side"),
		passage(job, 3, "", "bathroom dry"),
		passage(job, 4, "", "wet rot, said twice by mistake"),
		passage(job, 5, "", "a note about B2-3"),
	}
	all[3].Struck, all[2].By = true, mere
	must(t, s.SaveBook(t.Context(), jobs.BookStretch{Firm: firm, Job: job, Upto: 3, Version: 1, Passages: all[:3]}))
	must(t, s.SaveBook(t.Context(), jobs.BookStretch{Firm: firm, Job: job, After: 3, Upto: 7, Version: 1, Passages: all[3:]}))
	must(t, s.SaveBook(t.Context(), jobs.BookStretch{Firm: other, Job: job, Upto: 9, Version: 1, Passages: []jobs.Passage{passage(job, 9, "", "wet wet wet")}}))

	found(t, s, firm, "WET rot", 1, 4) // what was voided last
	found(t, s, firm, "wet", 2, 1, 4)
	found(t, s, firm, "bath", 1, 3) // the whole word before one that begins with it
	found(t, s, firm, "maori", 2)
	found(t, s, firm, "b2-3", 2, 5) // the place before the mention
	found(t, s, firm, "b")
	found(t, s, firm, "wet nothing")
	found(t, s, firm, "%")
	found(t, s, other, "wet", 9)
	wantFound(t, s, firm, jobs.Search{Terms: []jobs.Term{{Word: "mere", People: []events.ID{mere}}, {Word: "dry"}}, Limit: 10}, "recorded by", 3)
	wantFound(t, s, firm, jobs.Search{Terms: []jobs.Term{{Word: "wet"}}, Limit: 1, Offset: 1}, "the second", 1)
	wantFound(t, s, firm, jobs.Search{Terms: []jobs.Term{{Word: "wet"}}, Job: newID(t), Limit: 9}, "in another job")
	wantFound(t, s, firm, jobs.Search{Limit: 9}, "no terms")

	list, err := s.SearchBooks(t.Context(), firm, jobs.Search{Terms: []jobs.Term{{Word: "dry"}}, Limit: 9})
	want(t, "the passage", list, err, all[2:3])
	marks, err := s.BookMarks(t.Context(), firm)
	want(t, "BookMarks", marks, err, map[events.ID]jobs.BookMark{job: {Seq: 7, Version: 1}})
}

func bookReadAgain(t *testing.T, s jobs.Store) {
	firm, job := newFirm(t, s).ID, newID(t)
	must(t, s.SaveBook(t.Context(), jobs.BookStretch{Firm: firm, Job: job, Upto: 2, Version: 1, Passages: []jobs.Passage{passage(job, 1, "", "wet rot")}}))
	late := jobs.BookStretch{Firm: firm, Job: job, After: 1, Upto: 3, Version: 1, Passages: []jobs.Passage{passage(job, 3, "", "wet")}}
	wantErr(t, "a stretch that does not follow", s.SaveBook(t.Context(), late), events.ErrConflict)
	late.After, late.Version = 2, 2
	wantErr(t, "a stretch by another reading", s.SaveBook(t.Context(), late), events.ErrConflict)
	late.Job, late.Version = newID(t), 1
	wantErr(t, "a stretch of a book that was not begun", s.SaveBook(t.Context(), late), events.ErrConflict)
	wantErr(t, "SaveBook of nobody", s.SaveBook(t.Context(), jobs.BookStretch{Job: job, Upto: 1}), events.ErrNotFound)
	found(t, s, firm, "wet", 1)
	must(t, s.SaveBook(t.Context(), jobs.BookStretch{Firm: firm, Job: job, Upto: 2, Version: 2, Passages: []jobs.Passage{passage(job, 2, "", "dry rot")}}))
	found(t, s, firm, "wet")
	found(t, s, firm, "rot", 2)
}
