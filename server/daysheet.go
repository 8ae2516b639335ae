package server

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// sheet is what the day sheet is made of: a row a job, and what the firm has one of.
// Nothing of it folds a job or reads a log.
type sheet struct {
	firm   jobs.Firm
	jobs   []jobs.Job
	rows   map[events.ID]jobs.Summary
	crews  []jobs.Crew
	names  map[events.ID]string
	apart  map[events.ID]int // in quarantine, by job
	phones map[events.ID]jobs.Phone
	tokens []jobs.Token
	jacks  []jobs.Jack
	lasers []jobs.Laser

	zones map[string]*time.Location
	now   time.Time
}

// readSheet asks for all of it at once.
func (s *Server) readSheet(ctx context.Context, firm events.ID) (*sheet, error) {
	sh := &sheet{now: s.config.Now(), zones: map[string]*time.Location{}}
	store := s.config.Store
	var rows []jobs.Summary
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() (err error) { rows, err = store.ListSummaries(ctx, firm); return err })
	g.Go(func() (err error) { sh.jobs, err = store.ListJobs(ctx, firm); return err })
	g.Go(func() (err error) { return sh.readFirm(ctx, store, firm) })
	g.Go(func() (err error) { sh.apart, err = s.config.Log.CountQuarantined(ctx, firm); return err })
	g.Go(func() (err error) { sh.phones, err = s.knownPhones(ctx, firm); return err })
	g.Go(func() (err error) { sh.tokens, err = store.ListTokens(ctx, firm); return err })
	g.Go(func() (err error) { sh.jacks, err = store.ListJacks(ctx, firm); return err })
	g.Go(func() (err error) { sh.lasers, err = store.ListLasers(ctx, firm); return err })
	if err := g.Wait(); err != nil {
		return nil, err
	}
	sh.rows = make(map[events.ID]jobs.Summary, len(rows))
	for _, row := range rows {
		sh.rows[row.Job] = row
	}
	return sh, nil
}

// readFirm asks for the names: of the firm, its crews and its people.
func (sh *sheet) readFirm(ctx context.Context, store jobs.Store, firm events.ID) (err error) {
	if sh.firm, err = store.FindFirm(ctx, firm); err != nil {
		return err
	}
	if sh.crews, err = store.ListCrews(ctx, firm); err != nil {
		return err
	}
	people, err := store.ListPeople(ctx, firm)
	sh.names = namesOf(people)
	return err
}

// zone is zoneOf for many jobs: each zone is read from its file once.
func (sh *sheet) zone(j jobs.Job) *time.Location {
	zone, ok := sh.zones[j.Zone]
	if !ok {
		zone = zoneOf(j)
		sh.zones[j.Zone] = zone
	}
	return zone
}

// wanted tells which jobs a sheet shows.
type wanted struct {
	closed bool
	crew   events.ID // zero: all
}

// page lays the sheet out. Rows that are missing, or of another version of the
// program, are asked for; their lines say so meanwhile.
func (sh *sheet) page(want wanted, ask func(job events.ID)) web.DaySheetPage {
	page := web.DaySheetPage{
		Frame: web.Frame{Title: "Day sheet", Firm: sh.firm.Name, Words: sh.firm.Words.Words()},
		Today: sh.now.Format("Monday 2 January"), All: sh.crews, Closed: want.closed,
	}
	if !want.crew.IsZero() {
		page.Chosen = want.crew.String()
	}
	byCrew := map[events.ID][]web.SheetLine{}
	for _, j := range sh.jobs {
		if j.IsClosed() != want.closed || !want.crew.IsZero() && j.Crew != want.crew {
			continue
		}
		line := sh.line(j)
		if line.Seq < 0 {
			ask(j.ID)
		}
		page.Jobs++
		page.First = append(page.First, firstOf(line)...)
		byCrew[j.Crew] = append(byCrew[j.Crew], line)
	}
	page.Crews = sh.byCrew(byCrew)
	slices.SortStableFunc(page.First, func(a, b web.Want) int { return cmp.Compare(b.Rank, a.Rank) })
	return page
}

// byCrew puts the crews in the order of their names, jobs without one last, and the
// jobs of each in the order of their urgency.
func (sh *sheet) byCrew(lines map[events.ID][]web.SheetLine) []web.SheetCrew {
	var out []web.SheetCrew
	for _, c := range append(slices.Clone(sh.crews), jobs.Crew{Name: "No crew yet"}) {
		of := lines[c.ID]
		if len(of) == 0 {
			continue
		}
		slices.SortStableFunc(of, func(a, b web.SheetLine) int { return cmp.Or(cmp.Compare(b.Rank, a.Rank), cmp.Compare(b.At, a.At)) })
		crew := web.SheetCrew{Name: c.Name, Lines: of}
		if !c.ID.IsZero() {
			crew.ID = c.ID.String()
		}
		out = append(out, crew)
	}
	return out
}

// firstOf is what of a job cannot wait.
func firstOf(line web.SheetLine) (first []web.Want) {
	for _, w := range line.Wants {
		if w.Rank >= web.RankFirst {
			first = append(first, w)
		}
	}
	return first
}

// wantedBy reads which jobs an address asks for.
func wantedBy(r *http.Request) (want wanted, err error) {
	if text := r.URL.Query().Get("crew"); text != "" {
		if want.crew, err = events.ParseID(text); err != nil {
			return want, refuse(http.StatusNotFound, "There is no such crew.")
		}
	}
	return want, nil
}
