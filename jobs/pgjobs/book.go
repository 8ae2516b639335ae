package pgjobs

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	selectMarks = `SELECT job, seq, version FROM book_read WHERE firm = $1`
	// A stretch counts only where it follows, so that two servers that read the
	// same book write it once.
	beginBook = `
		INSERT INTO book_read (firm, job, seq, version) VALUES ($1, $2, $3, $4)
		ON CONFLICT ON CONSTRAINT book_read_pkey DO UPDATE SET seq = excluded.seq, version = excluded.version`
	goOnWithBook = `UPDATE book_read SET seq = $3 WHERE firm = $1 AND job = $2 AND version = $4 AND seq = $5`
	forgetTexts  = `DELETE FROM book_text WHERE firm = $1 AND job = $2`
	forgetWords  = `DELETE FROM book_word WHERE firm = $1 AND job = $2`
	insertTexts  = `
		INSERT INTO book_text (firm, job, seq, kind, at, person, points, words, struck)
		SELECT $1, $2, u.* FROM unnest($3::bigint[], $4::text[], $5::timestamptz[], $6::uuid[], $7::text[], $8::text[], $9::boolean[]) AS u`
	// Beside each word stands its stem where that is another, apart by a mark that no word
	// has: half of all words are their own.
	insertWords = `
		WITH given AS (SELECT * FROM unnest($3::text[], $4::bigint[], $5::smallint[]) AS u(word, seq, weight))
		INSERT INTO book_word (firm, job, word, seq, weight)
		SELECT $1, $2, word, seq, max(weight) FROM (
			SELECT word, seq, weight FROM given
			UNION ALL
			SELECT '~' || stem, seq, weight FROM given, unnest(ts_lexize('english_stem', word)) AS stem WHERE word !~ '[@#0-9]' AND stem <> word
		) AS w GROUP BY word, seq`

	// One term: whoever has the word itself, a word that begins with it, one of
	// the same stem, or was recorded by one of some people. The stems are made first,
	// as an array: under row security a comparison with what || makes of each does not
	// come to the index, and all words of the firm are read. A stem that is not its own,
	// as "can" of "cans", is no word of that stem.
	searchTerm = `
		SELECT %[1]d AS n, job, seq, weight * 2 AS worth FROM book_word WHERE firm = $1 AND word = $%[2]d
		UNION ALL SELECT %[1]d, job, seq, weight FROM book_word WHERE firm = $1 AND word > $%[2]d AND word < $%[3]d
		UNION ALL SELECT %[1]d, job, seq, weight FROM book_word WHERE firm = $1 AND word = ANY ($%[4]d::text[])
		UNION ALL SELECT %[1]d, job, seq, weight FROM book_word
			WHERE firm = $1 AND word = ANY (ARRAY(
				SELECT '~' || stem FROM unnest(ts_lexize('english_stem', $%[2]d)) AS stem
				UNION ALL SELECT stem FROM unnest(ts_lexize('english_stem', $%[2]d)) AS stem WHERE ts_lexize('english_stem', stem) = ARRAY[stem]))`
	searchAll = `
		WITH found AS (%s), best AS (SELECT n, job, seq, max(worth) AS worth FROM found GROUP BY n, job, seq),
		hit AS (SELECT job, seq, sum(worth) AS worth FROM best GROUP BY job, seq HAVING count(*) = $2)
		SELECT t.job, t.seq, t.kind, t.at, t.person, t.points, t.words, t.struck
		FROM hit JOIN book_text t ON t.firm = $1 AND t.job = hit.job AND t.seq = hit.seq
		WHERE $3::uuid IS NULL OR t.job = $3
		ORDER BY t.struck, hit.worth DESC, t.at DESC, t.job, t.seq DESC
		LIMIT $4 OFFSET $5`
)

// BookMarks implements jobs.Books.
func (s *Store) BookMarks(ctx context.Context, firm events.ID) (map[events.ID]jobs.BookMark, error) {
	type row struct {
		job events.ID
		jobs.BookMark
	}
	rows, err := list(ctx, s, firm, selectMarks, func(from pgx.Row) (r row, err error) {
		err = from.Scan(idInto(&r.job), &r.Seq, &r.Version)
		return r, err
	})
	if err != nil {
		return nil, fmt.Errorf("list how far books were read: %w", err)
	}
	marks := make(map[events.ID]jobs.BookMark, len(rows))
	for _, r := range rows {
		marks[r.job] = r.BookMark
	}
	return marks, nil
}

// SaveBook implements jobs.Books.
func (s *Store) SaveBook(ctx context.Context, one jobs.BookStretch) error {
	if one.Firm.IsZero() {
		return events.ErrNotFound
	}
	err := s.db.WithFirm(ctx, one.Firm, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT set_config('synchronous_commit', 'off', true)`); err != nil {
			return err
		}
		if err := markBook(ctx, tx, one); err != nil {
			return err
		}
		var b pgx.Batch
		if one.After == 0 {
			b.Queue(forgetTexts, uuid(one.Firm), uuid(one.Job))
			b.Queue(forgetWords, uuid(one.Firm), uuid(one.Job))
		}
		queuePassages(&b, one)
		if b.Len() == 0 {
			return nil
		}
		return tx.SendBatch(ctx, &b).Close()
	})
	if err != nil {
		return fmt.Errorf("save a book: %w", err)
	}
	return nil
}

// markBook moves the mark on, and holds its row until the stretch is written.
func markBook(ctx context.Context, tx pgx.Tx, one jobs.BookStretch) error {
	if one.After == 0 {
		_, err := tx.Exec(ctx, beginBook, uuid(one.Firm), uuid(one.Job), one.Upto, one.Version)
		return err
	}
	tag, err := tx.Exec(ctx, goOnWithBook, uuid(one.Firm), uuid(one.Job), one.Upto, one.Version, one.After)
	if err == nil && tag.RowsAffected() == 0 {
		return events.ErrConflict
	}
	return err
}

func queuePassages(b *pgx.Batch, one jobs.BookStretch) {
	if len(one.Passages) == 0 {
		return
	}
	var seqs, wordSeqs []int64
	var kinds, points, texts, words []string
	var ats []any
	var people []*[16]byte
	var struck []bool
	var weights []int16
	for _, p := range one.Passages {
		seqs, kinds, ats, people = append(seqs, p.Seq), append(kinds, string(p.Kind)), append(ats, p.At), append(people, orNull(p.By))
		points, texts, struck = append(points, events.PlainText(p.Points)), append(texts, events.PlainText(p.Words)), append(struck, p.Struck)
		for _, w := range p.Index() {
			words, wordSeqs, weights = append(words, events.PlainText(w.Word)), append(wordSeqs, p.Seq), append(weights, int16(w.Weight))
		}
	}
	b.Queue(insertTexts, uuid(one.Firm), uuid(one.Job), seqs, kinds, ats, people, points, texts, struck)
	b.Queue(insertWords, uuid(one.Firm), uuid(one.Job), words, wordSeqs, weights)
}

// afterAll follows every word that begins with another.
const afterAll = "\U0010ffff"

// SearchBooks implements jobs.Books.
func (s *Store) SearchBooks(ctx context.Context, firm events.ID, search jobs.Search) (found []jobs.Passage, err error) {
	if firm.IsZero() || len(search.Terms) == 0 {
		return nil, nil
	}
	sql, args := searchFor(firm, search)
	err = s.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(sql, args...).Query(func(rows pgx.Rows) (err error) {
			found, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (jobs.Passage, error) { return scanPassage(row) })
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("search books: %w", err)
	}
	return found, nil
}

// searchFor writes the statement for as many terms as there are; what is looked
// for goes in arguments alone.
func searchFor(firm events.ID, search jobs.Search) (sql string, args []any) {
	args = []any{uuid(firm), len(search.Terms), orNull(search.Job), max(search.Limit, 0), max(search.Offset, 0)}
	var parts []string
	for i, term := range search.Terms {
		end := term.Word
		if len(term.Word) >= jobs.ShortestPrefix {
			end += afterAll
		}
		people := make([]string, len(term.People))
		for k, id := range term.People {
			people[k] = jobs.RecordedBy(id)
		}
		n := len(args)
		parts = append(parts, fmt.Sprintf(searchTerm, i, n+1, n+2, n+3))
		args = append(args, term.Word, end, people)
	}
	return fmt.Sprintf(searchAll, strings.Join(parts, "\nUNION ALL ")), args
}

func scanPassage(row pgx.Row) (p jobs.Passage, err error) {
	var by *[16]byte
	err = row.Scan(idInto(&p.Job), &p.Seq, &p.Kind, &p.At, &by, &p.Points, &p.Words, &p.Struck)
	p.By, p.At = orZero(by), p.At.UTC()
	return p, err
}
