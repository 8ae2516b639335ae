package server

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// linesFound is how many lines of books one page of a search shows.
const linesFound = 30

// getSearchPage is GET /search?q=&skip=.
func (p *pages) getSearchPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	f, err := p.config.Store.FindFirm(r.Context(), firm)
	if err != nil {
		return err
	}
	people, err := p.config.Store.ListPeople(r.Context(), firm)
	if err != nil {
		return err
	}
	asked := strings.TrimSpace(r.URL.Query().Get("q"))
	skip, _ := place(r, "skip")
	skip = min(skip, mostSkipped)
	got, err := p.search(r, firm, asked, linesFound, int(skip))
	if err != nil {
		return err
	}
	page := web.SearchPage{Frame: p.frameOf(r, f, "Search"), Behind: got.Behind, Nothing: asked != "" && len(got.Jobs)+len(got.Lines) == 0}
	page.Asked = asked
	words := jobs.Asked(asked)
	if skip == 0 {
		for _, j := range got.Jobs {
			page.Jobs = append(page.Jobs, web.FoundJob{Base: "/jobs/" + j.ID.String(), Name: web.Marked(j.Name, words), Place: web.Marked(j.Place, words)})
		}
	}
	if page.Groups, err = p.foundByJob(r, f, got.Lines, namesOf(people), words); err != nil {
		return err
	}
	if got.More && skip+linesFound <= mostSkipped {
		page.Later = searchAt(asked, skip+linesFound)
	}
	if skip > 0 {
		page.Earlier = searchAt(asked, max(0, skip-linesFound))
	}
	return show(w, http.StatusOK, page)
}

func searchAt(asked string, skip int64) string {
	return "/search?" + url.Values{"q": {asked}, "skip": {strconv.FormatInt(skip, 10)}}.Encode()
}

// foundByJob puts the lines of one job together, in the order in which the jobs
// were found first.
func (p *pages) foundByJob(r *http.Request, firm jobs.Firm, lines []jobs.Passage, names map[events.ID]string, words []string) ([]web.FoundGroup, error) {
	all, err := p.config.Store.ListJobs(r.Context(), firm.ID)
	if err != nil {
		return nil, err
	}
	known := map[events.ID]jobs.Job{}
	for _, j := range all {
		known[j.ID] = j
	}
	say := firm.Words.Words()
	var groups []web.FoundGroup
	at := map[events.ID]int{}
	for _, l := range lines {
		j := known[l.Job]
		i, begun := at[l.Job]
		if !begun {
			i = len(groups)
			at[l.Job] = i
			groups = append(groups, web.FoundGroup{Base: "/jobs/" + l.Job.String(), Name: j.Name})
		}
		zone := zoneOf(j)
		groups[i].Lines = append(groups[i].Lines, web.FoundLine{
			Seq: l.Seq, What: say.Say(jobs.KindWords(l.Kind)), Points: web.Marked(l.Points, words), Words: web.Excerpt(say.SayLine(l.Kind, l.Words), words), Struck: l.Struck,
			When: web.When(l.At.In(zone), p.config.Now().In(zone)), By: web.Marked(names[l.By], words),
		})
	}
	return groups, nil
}
