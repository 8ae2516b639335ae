package server

import (
	"context"
	"net/http"
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
)

const (
	usualFound   = 30
	mostFound    = 100
	mostSkipped  = 5000
	mostJobs     = 20
	longestQuery = 200
)

// found is what was found for some words.
type found struct {
	Jobs   []listedJob    `json:"jobs"` // whose own name or place, or whose crew, has all the words
	Lines  []jobs.Passage `json:"lines"`
	More   bool           `json:"more"`             // there are lines after these
	Behind int            `json:"behind,omitempty"` // books that are still being read
}

// getSearch is GET search?q=&limit=&skip=: jobs by name and place, and lines of
// their books, the better match first.
func (s *Server) getSearch(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	limit, err := number(r, "limit", usualFound, 1, mostFound)
	if err != nil {
		return err
	}
	skip, err := number(r, "skip", 0, 0, mostSkipped)
	if err != nil {
		return err
	}
	f, err := s.search(r, firm, r.URL.Query().Get("q"), int(limit), int(skip))
	if err != nil {
		return err
	}
	f.Jobs, f.Lines = orEmpty(f.Jobs), orEmpty(f.Lines)
	return reply(w, http.StatusOK, f)
}

func (s *Server) search(r *http.Request, firm events.ID, text string, limit, skip int) (f found, err error) {
	asked := jobs.Asked(text[:min(len(text), longestQuery)])
	all, err := s.listReached(r.Context(), firm)
	if err != nil {
		return f, err
	}
	if f.Behind, err = s.catchUpBooks(r.Context(), firm, all); err != nil || len(asked) == 0 {
		return f, err
	}
	people, err := s.config.Store.ListPeople(r.Context(), firm)
	if err != nil {
		return f, err
	}
	crews, err := s.config.Store.ListCrews(r.Context(), firm)
	if err != nil {
		return f, err
	}
	if f.Jobs, err = s.withFigures(r.Context(), firm, namedJobs(all, crews, asked)); err != nil {
		return f, err
	}
	wanted := jobs.Search{Limit: limit + 1, Offset: skip}
	for _, word := range asked {
		wanted.Terms = append(wanted.Terms, jobs.Term{Word: word, People: called(people, word)})
	}
	if f.Lines, err = s.config.Store.SearchBooks(r.Context(), firm, wanted); err != nil {
		return f, err
	}
	if f.More = len(f.Lines) > limit; f.More {
		f.Lines = f.Lines[:limit]
	}
	return f, nil
}

// withFigures gives the figures of a few jobs that were listed without them.
func (s *Server) withFigures(ctx context.Context, firm events.ID, few []listedJob) ([]listedJob, error) {
	if len(few) == 0 {
		return nil, nil
	}
	ids := make([]events.ID, len(few))
	for i, j := range few {
		ids[i] = j.ID
	}
	rows, err := s.config.Store.ListSummaries(ctx, firm, ids...)
	if err != nil {
		return nil, err
	}
	for i := range rows {
		at := slices.Index(ids, rows[i].Job)
		if rows[i].Version == jobs.SummaryVersion {
			few[at].Seq, few[at].Brief = rows[i].Seq, &rows[i].Brief
		}
	}
	return few, nil
}

// catchUpBooks asks for books to be read that a restart left behind, and counts
// them.
func (s *Server) catchUpBooks(ctx context.Context, firm events.ID, all []jobs.Folded) (behind int, err error) {
	marks, err := s.config.Store.BookMarks(ctx, firm)
	if err != nil {
		return 0, err
	}
	for _, j := range all {
		if m := marks[j.ID]; j.Seq > m.Seq || j.Seq > 0 && m.Version != jobs.BookVersion {
			s.books.mark(jobKey{firm, j.ID})
			behind++
		}
	}
	return behind, nil
}

// namedJobs are those in whose name, place or crew each of the words begins one.
func namedJobs(all []jobs.Folded, crews []jobs.Crew, asked []string) (named []listedJob) {
	names := map[events.ID]string{}
	for _, c := range crews {
		names[c.ID] = c.Name
	}
	for _, j := range all {
		if allBegin(jobs.Terms(j.Name+" "+j.Place+" "+names[j.Crew]), asked) && len(named) < mostJobs {
			named = append(named, listedJob{Job: j.Job, Seq: j.Seq})
		}
	}
	return named
}

func allBegin(words, asked []string) bool {
	for _, start := range asked {
		if !slices.ContainsFunc(words, func(w string) bool { return strings.HasPrefix(w, start) }) {
			return false
		}
	}
	return true
}

// called are the people with a name that begins with a word.
func called(people []jobs.Person, word string) (ids []events.ID) {
	for _, one := range people {
		if len(word) >= jobs.ShortestPrefix && allBegin(jobs.Terms(one.Name), []string{word}) {
			ids = append(ids, one.ID)
		}
	}
	return ids
}
