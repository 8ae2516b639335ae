package server

import (
	"cmp"
	"context"
	"encoding/csv"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// mostChecks bounds the checks of instruments that the kit's page looks through.
const mostChecks = 500

// kitLines are the jacks and lasers of a page: what stands against its use first,
// what is out of use last.
func (p *pages) kitLines(ctx context.Context, firm events.ID, now time.Time) (jacks []web.KitJack, lasers []web.KitLaser, err error) {
	all, err := p.config.Store.KitRecords(ctx, firm)
	if err != nil {
		return nil, nil, err
	}
	for _, j := range all.Jacks {
		if n := len(jacks); n > 0 && jacks[n-1].Name == j.Name {
			jacks[n-1].Earlier = append(jacks[n-1].Earlier, j)
		} else {
			jacks = append(jacks, web.KitJack{Jack: j, Due: j.Due(now)})
		}
	}
	for _, l := range all.Lasers {
		if n := len(lasers); n > 0 && lasers[n-1].Name == l.Name {
			lasers[n-1].Earlier = append(lasers[n-1].Earlier, l)
		} else {
			lasers = append(lasers, web.KitLaser{Laser: l, Due: l.Due(now)})
		}
	}
	slices.SortStableFunc(jacks, func(a, b web.KitJack) int { return cmp.Compare(dueFirst(a.Gone, a.Due), dueFirst(b.Gone, b.Due)) })
	slices.SortStableFunc(lasers, func(a, b web.KitLaser) int { return cmp.Compare(dueFirst(a.Gone, a.Due), dueFirst(b.Gone, b.Due)) })
	return jacks, lasers, p.addChecks(ctx, firm, lasers, now)
}

// dueFirst orders kit: to be inspected, in use, out of use.
func dueFirst(gone bool, due string) int {
	switch {
	case gone:
		return 2
	case due == "":
		return 1
	}
	return 0
}

// addChecks puts beside each laser what checks on jobs found, the latest first. They
// are found among the words of the books, where they are read a moment after they
// were recorded.
func (p *pages) addChecks(ctx context.Context, firm events.ID, lasers []web.KitLaser, now time.Time) error {
	checks, err := p.config.Store.SearchBooks(ctx, firm, jobs.Search{Terms: []jobs.Term{{Word: jobs.OfKind(events.KindInstrumentCheck)}}, Limit: mostChecks})
	if err != nil {
		return err
	}
	all, err := p.config.Store.ListJobs(ctx, firm)
	if err != nil {
		return err
	}
	for _, c := range checks {
		name, says, _ := strings.Cut(c.Words, "; ")
		at := slices.IndexFunc(lasers, func(l web.KitLaser) bool { return strings.EqualFold(l.Name, strings.TrimSpace(name)) })
		job := slices.IndexFunc(all, func(j jobs.Job) bool { return j.ID == c.Job })
		if at < 0 || job < 0 {
			continue
		}
		zone, seq := zoneOf(all[job]), strconv.FormatInt(c.Seq, 10)
		lasers[at].Checks = append(lasers[at].Checks, web.KitCheck{
			When: web.When(c.At.In(zone), now.In(zone)), Job: all[job].Name, Says: says, Void: c.Struck,
			Href: "/jobs/" + c.Job.String() + "/book?at=" + seq + "#n" + seq,
		})
	}
	return nil
}

// getKitCSV is GET /kit.csv: the kit as it stands, for a spreadsheet.
func (p *pages) getKitCSV(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	now := p.config.Now()
	jacks, lasers, err := p.kitLines(r.Context(), firm, now)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="kit.csv"`)
	out := csv.NewWriter(w)
	out.Write([]string{"sort", "name", "marked_kn", "bore_mm", "gauge", "sd_mm_per_m", "inspected_on", "due_on", "out_of_use", "says", "note"})
	number := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	for _, j := range jacks {
		out.Write(safeCells("jack", j.Name, number(j.RatedKN), number(j.BoreMM), strconv.FormatBool(j.Gauge), "", j.InspectedOn, j.DueOn, strconv.FormatBool(j.Gone), j.Due, j.Note))
	}
	for _, l := range lasers {
		out.Write(safeCells("laser", l.Name, "", "", "", number(l.SDMMPerM), l.InspectedOn, l.DueOn, strconv.FormatBool(l.Gone), l.Due, l.Note))
	}
	out.Flush() // a reader that has gone away is no error
	return nil
}

// safeCells keeps a spreadsheet from taking what somebody wrote for a formula.
func safeCells(cells ...string) []string {
	for i, c := range cells {
		if c != "" && strings.ContainsRune("=+-@\t\r", rune(c[0])) {
			cells[i] = "'" + c
		}
	}
	return cells
}
