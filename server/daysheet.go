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

// sheet is what the day sheet is made of: the jobs with their rows, and what the firm
// has one of. Nothing of it folds a job or reads a log.
type sheet struct {
	firm   jobs.Firm
	jobs   []jobs.Folded
	crews  []jobs.Crew
	names  map[events.ID]string
	apart  map[events.ID]int // kept apart and not decided about, by job
	phones []jobs.Phone
	tokens []jobs.Token
	jacks  []jobs.Jack
	lasers []jobs.Laser

	sites map[string]siteTime
	now   time.Time
}

// siteTime is what it is by the clock of a site.
type siteTime struct {
	now time.Time
	day siteDay
}

// siteDay is as much of that as changes what a line says.
type siteDay struct {
	date string
	over bool // the hour is past the end of the day
}

func (s *Server) newSheet() *sheet {
	return &sheet{now: s.config.Now(), sites: map[string]siteTime{}}
}

// readSheet asks for all of it at once.
func (s *Server) readSheet(ctx context.Context, firm events.ID, closed bool) (*sheet, error) {
	sh, store := s.newSheet(), s.config.Store
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() (err error) { sh.jobs, err = store.ListFolded(ctx, firm, closed); return err })
	g.Go(func() (err error) { return sh.readFirm(ctx, store, firm) })
	g.Go(func() (err error) { sh.apart, err = s.config.Log.Undecided(ctx, firm); return err })
	g.Go(func() (err error) { sh.phones, err = store.ListPhones(ctx, firm); return err })
	g.Go(func() (err error) { sh.tokens, err = store.ListTokens(ctx, firm); return err })
	g.Go(func() (err error) { sh.jacks, err = store.ListJacks(ctx, firm); return err })
	g.Go(func() (err error) { sh.lasers, err = store.ListLasers(ctx, firm); return err })
	return sh, g.Wait()
}

// readFirm asks for the names: of the firm, its crews and its people.
func (sh *sheet) readFirm(ctx context.Context, store jobs.Store, firm events.ID) (err error) {
	if sh.firm, err = store.FindFirm(ctx, firm); err != nil {
		return err
	}
	sh.now = inZoneOf(sh.firm, sh.now)
	if sh.crews, err = store.ListCrews(ctx, firm); err != nil {
		return err
	}
	people, err := store.ListPeople(ctx, firm)
	sh.names = namesOf(people)
	return err
}

// site is what it is by the clock of a job's site: each zone is read from its file once.
func (sh *sheet) site(j jobs.Job) siteTime {
	at, ok := sh.sites[j.Zone]
	if !ok {
		now := sh.now.In(zoneOf(j))
		at = siteTime{now, siteDay{now.Format(time.DateOnly), now.Hour() >= dayEnds}}
		sh.sites[j.Zone] = at
	}
	return at
}

// wanted tells which jobs a sheet shows.
type wanted struct {
	closed bool
	crew   events.ID // zero: all
}

// has tells whether a job is one that the sheet shows.
func (w wanted) has(j jobs.Job) bool {
	return j.IsClosed() == w.closed && (w.crew.IsZero() || j.Crew == w.crew)
}

// page lays the lines of a sheet out.
func (sh *sheet) page(want wanted, lines []keptLine) web.DaySheetPage {
	page := web.DaySheetPage{
		Frame: web.Frame{Title: "Day sheet", Firm: sh.firm.Name, Words: sh.firm.Words.Words()},
		Today: sh.now.Format("Monday 2 January"), All: sh.crews, Closed: want.closed, Jobs: len(lines),
	}
	if !want.crew.IsZero() {
		page.Chosen = want.crew.String()
	}
	byCrew := map[events.ID][]web.SheetLine{}
	for _, l := range lines {
		page.First = append(page.First, firstOf(l.line)...)
		byCrew[l.of.job.Crew] = append(byCrew[l.of.job.Crew], l.line)
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
		if w.First() {
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
