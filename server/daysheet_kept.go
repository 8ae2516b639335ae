package server

import (
	"context"
	"sync"
	"sync/atomic"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/server/web"
)

// mostLinesKept is how many lines are kept, of all firms: about 30 MB.
const mostLinesKept = 10_000

// keptLines are the lines of jobs as they were made last. They are a cache: a line
// is used as long as all that it was made of is the same.
type keptLines struct {
	made  atomic.Uint64
	mu    sync.Mutex
	known map[jobKey]keptLine
}

// keptLine is a line with what it was made of.
type keptLine struct {
	of     madeOf
	lastBy events.ID
	line   web.SheetLine
}

// madeOf is all that a line depends on. The rest of a row is a function of its seq.
type madeOf struct {
	job   jobs.Job
	seq   int64 // −1 while the row is being worked out
	apart int
	by    string // the name of who recorded last
	day   siteDay
	units levelling.Unit
	words jobs.Region
}

func newKeptLines() *keptLines { return &keptLines{known: map[jobKey]keptLine{}} }

// find returns the line of a job if it is as it would be made now.
func (k *keptLines) find(sh *sheet, j jobs.Folded) (keptLine, bool) {
	k.mu.Lock()
	kept, ok := k.known[jobKey{j.Firm, j.ID}]
	k.mu.Unlock()
	return kept, ok && kept.of == sh.madeOf(j.Job, j.Seq, kept.lastBy) && j.Version == jobs.SummaryVersion
}

func (k *keptLines) keep(l keptLine) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if len(k.known) >= mostLinesKept {
		clear(k.known)
	}
	k.known[jobKey{l.of.job.Firm, l.of.job.ID}] = l
}

func (sh *sheet) madeOf(j jobs.Job, seq int64, lastBy events.ID) madeOf {
	return madeOf{job: j, seq: seq, apart: sh.apart[j.ID], by: sh.names[lastBy], day: sh.site(j).day, units: sh.firm.Units, words: sh.firm.Words}
}

// lines returns the lines of a sheet's jobs, and makes those that are not kept. Rows
// that are missing, or of another version of the program, are asked for; their lines
// say so meanwhile.
func (s *Server) lines(ctx context.Context, sh *sheet, want wanted) ([]keptLine, error) {
	var lines []keptLine
	var stale []events.ID
	at := map[events.ID]int{}
	for _, j := range sh.jobs {
		if !want.has(j.Job) {
			continue
		}
		kept, ok := s.kept.find(sh, j)
		if !ok {
			kept = keptLine{of: madeOf{job: j.Job}}
			at[j.ID] = len(lines)
			stale = append(stale, j.ID)
		}
		lines = append(lines, kept)
	}
	if len(stale) == 0 {
		return lines, nil
	}
	rows, err := s.config.Store.ListSummaries(ctx, sh.firm.ID, stale...)
	if err != nil {
		return nil, err
	}
	found := make(map[events.ID]*jobs.Summary, len(rows))
	for i := range rows {
		found[rows[i].Job] = &rows[i]
	}
	for job, i := range at {
		if lines[i], err = s.makeLine(sh, lines[i].of.job, found[job]); err != nil {
			return nil, err
		}
	}
	return lines, nil
}

// makeLine makes a line of a row, which may be missing, and keeps it.
func (s *Server) makeLine(sh *sheet, j jobs.Job, row *jobs.Summary) (l keptLine, err error) {
	seq := int64(-1)
	if row != nil && row.Version != jobs.SummaryVersion {
		row = nil
	}
	if row != nil {
		seq, l.lastBy = row.Seq, row.Brief.LastBy
	} else {
		s.summaries.mark(jobKey{j.Firm, j.ID})
	}
	l.of, l.line = sh.madeOf(j, seq, l.lastBy), sh.line(j, row)
	if l.line.HTML, err = web.RenderLine(l.line); err != nil {
		return l, err
	}
	l.line.Made = s.kept.made.Add(1)
	if l.line.Small = ""; row != nil { // it is drawn
		s.kept.keep(l)
	}
	return l, nil
}
