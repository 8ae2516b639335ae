package server

import (
	"cmp"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getDiaryPage is GET /diary?day=2026-03-02: what each crew did on a day, by the
// clock of each site. Without a day it is today by the firm's.
func (p *pages) getDiaryPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	f, err := p.config.Store.FindFirm(r.Context(), firm)
	if err != nil {
		return err
	}
	now := inZoneOf(f, p.config.Now())
	page := web.DiaryPage{}
	text := cmp.Or(r.URL.Query().Get("day"), now.Format(time.DateOnly))
	day, err := time.Parse(time.DateOnly, text)
	status := http.StatusOK
	if err != nil || day.Year() < 1900 || day.Year() > 9000 {
		status, page.Wrong = http.StatusUnprocessableEntity, web.Wrong{"day": "a date, as 2026-03-02"}
		day, _ = time.Parse(time.DateOnly, now.Format(time.DateOnly))
	}
	page.Frame = p.frameOf(r, f, "Diary of "+day.Format("2 January 2006"))
	page.Date, page.Day = day.Format(time.DateOnly), day.Format("Monday 2 January 2006")
	page.Earlier, page.Later = diaryOf(day.AddDate(0, 0, -1)), diaryOf(day.AddDate(0, 0, 1))
	if today := now.Format(time.DateOnly); page.Date != today {
		page.Today = "/diary?day=" + today
	}
	if err := p.fillDiary(r, firm, &page); err != nil {
		return err
	}
	return show(w, status, page)
}

func diaryOf(day time.Time) string { return "/diary?day=" + day.Format(time.DateOnly) }

// fillDiary writes what was done on the day, crew by crew.
func (p *pages) fillDiary(r *http.Request, firm events.ID, page *web.DiaryPage) error {
	ctx, store := r.Context(), p.config.Store
	days, err := store.ListDiary(ctx, firm, page.Date, page.Date)
	if err != nil {
		return err
	}
	sh := p.newSheet()
	if err := sh.readFirm(ctx, store, firm); err != nil {
		return err
	}
	byID := map[events.ID]jobs.Job{}
	for _, closed := range []bool{false, true} {
		list, err := store.ListFolded(ctx, firm, closed)
		if err != nil {
			return err
		}
		for _, j := range list {
			byID[j.ID] = j.Job
			if j.Version != jobs.SummaryVersion {
				p.summaries.mark(jobKey{firm, j.ID})
				page.Behind++
			}
		}
	}
	lines := map[events.ID][]web.DiaryLine{}
	for _, d := range days {
		if j, ok := byID[d.Job]; ok {
			lines[j.Crew] = append(lines[j.Crew], sh.diaryLine(j, d.Day))
		}
	}
	for _, c := range append(slices.Clone(sh.crews), jobs.Crew{Name: "No crew"}) {
		if of := lines[c.ID]; len(of) > 0 {
			slices.SortFunc(of, func(a, b web.DiaryLine) int {
				return cmp.Or(strings.Compare(a.Name, b.Name), strings.Compare(a.Job, b.Job))
			})
			page.Crews = append(page.Crews, web.DiaryCrew{Name: c.Name, Lines: of})
		}
	}
	return nil
}

// diaryLine tells a day of a job.
func (sh *sheet) diaryLine(j jobs.Job, d jobs.Day) web.DiaryLine {
	base := "/jobs/" + j.ID.String()
	line := web.DiaryLine{Job: base, Name: j.Name, Words: d.Words(zoneOf(j), sh.firm.Units), Book: base + "/book?at=" + strconv.FormatInt(d.LastSeq, 10)}
	var by []string
	for _, id := range d.By {
		if name := sh.names[id]; name != "" {
			by = append(by, name)
		}
	}
	line.By = strings.Join(by, ", ")
	return line
}
