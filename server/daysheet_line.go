package server

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"relevel/jobs"
	"relevel/server/web"
)

// How urgent a thing is. From web.RankFirst on it stands above all jobs, from
// web.RankRed on it is red.
const (
	rankBelow    = 100 // somebody may lie under the floor, and the day is over
	rankStop     = 90
	rankNight    = 80 // a load on a jack, and the day is over
	rankProposed = 70
	rankLate     = 50 // a finding past its day
	rankDanger   = 40 // a load on a jack while people work there
	rankChange   = 28
	rankApart    = 26
	rankDoubt    = 24
	rankFinding  = 22
	rankCheck    = 20
	rankAside    = 18
	rankTie      = 10
)

// line is one job as the sheet shows it; without its row it says so.
func (sh *sheet) line(j jobs.Job, row *jobs.Summary) web.SheetLine {
	line := web.SheetLine{ID: j.ID.String(), Name: j.Name, Place: j.Place, Planned: web.PlannedWords(j), Seq: -1}
	now := sh.site(j).now
	if j.IsClosed() {
		line.Closed = web.When(j.ClosedAt.In(now.Location()), now)
	}
	if row == nil {
		line.Stage = "Being worked out"
		return line
	}
	line.Seq, line.Small, line.By = row.Seq, svg(row.Small), sh.names[row.Brief.LastBy]
	line.Fill(row.Brief, now, sh.firm.Speech())
	w := wants{base: "/jobs/" + line.ID, now: now, words: sh.firm.Words.Words()}
	w.all(row.Brief, sh.apart[j.ID])
	if j.IsClosed() && row.Seq > j.ClosedSeq {
		w.add(rankApart, w.base+"/book", "%s recorded since it was closed", howMany(row.Seq-j.ClosedSeq, "line"))
	}
	slices.SortStableFunc(w.list, func(a, b web.Want) int { return cmp.Compare(b.Rank, a.Rank) })
	for i := range w.list {
		w.list[i].Job, w.list[i].Name = line.ID, j.Name
	}
	line.Wants = w.list
	if len(w.list) > 0 {
		line.Rank = w.list[0].Rank
	}
	return line
}

// wants gathers what waits on one job.
type wants struct {
	base  string
	now   time.Time // by the clock of the site
	words jobs.Words
	list  []web.Want
}

func (w *wants) add(rank int, href, words string, args ...any) {
	w.list = append(w.list, web.Want{Rank: rank, Href: href, Words: fmt.Sprintf(words, args...)})
}

func (w *wants) all(b jobs.Brief, apart int) {
	w.stopped(b)
	w.left(b)
	w.answers(b)
	if apart > 0 {
		w.add(rankApart, quarantinePath, "%s kept apart", howMany(int64(apart), "record"))
	}
	if len(b.Doubts) > 0 {
		w.add(rankDoubt, w.place(b, b.Doubts[0], "#aside"), "In doubt: %s", strings.Join(few(b.Doubts), ", "))
	}
	for _, name := range b.Unchecked {
		w.add(rankCheck, w.base+"/record/instrument-check", "%s was set up past its check", name)
	}
	if b.Aside > 0 {
		w.add(rankAside, w.base+"#aside", "%s set aside", howMany(int64(b.Aside), "record"))
	}
	if b.Newer > 0 {
		w.add(rankAside, w.base+"#aside", "%s of a newer app", howMany(int64(b.Newer), "record"))
	}
}

// stopped says what is stopped, why, and who may give the go-ahead.
func (w *wants) stopped(b jobs.Brief) {
	for _, it := range b.Owed.Stops {
		at := ""
		if len(it.Supports) > 0 {
			at = " at " + strings.Join(few(it.Supports), ", ")
		}
		w.add(rankStop, w.base+"/stops/"+it.ID.String(), "Stopped%s: %s. Go-ahead by %s", at, it.Text, it.Name)
	}
	for _, p := range b.Proposals {
		w.add(rankProposed, w.base+"/stops", "A stop is proposed: %s", p.Why)
	}
}

// left says what was left as it should not be. Of each sort of thing one line tells.
func (w *wants) left(b jobs.Brief) {
	type group struct {
		rank   int
		what   string
		places []string
		since  time.Time
	}
	var groups []group
	for _, l := range b.Left {
		rank := w.leftRank(l)
		i := slices.IndexFunc(groups, func(g group) bool { return g.what == l.What && g.rank == rank })
		if i < 0 {
			i = len(groups)
			groups = append(groups, group{rank: rank, what: l.What, since: l.Since})
		}
		groups[i].places = append(groups[i].places, l.Place)
	}
	for _, g := range groups {
		since := web.When(g.since.In(w.now.Location()), w.now)
		if g.places[0] == jobs.PeopleBelow {
			w.add(g.rank, w.base+"/record/day-end", "%s, since %s", w.words.Say(peopleWords(g.rank, g.what)), since)
			continue
		}
		if g.rank < rankDanger {
			w.add(g.rank, w.base, "%s, since %s", restWords(g.what, g.places), since)
			continue
		}
		href := w.place(b, g.places[0], "#danger")
		if len(g.places) > 1 {
			href = w.base
		}
		w.add(g.rank, href, "%s %s, since %s", strings.Join(few(g.places), ", "), w.words.Say(g.what), since)
	}
}

// restWords say what is left that can hurt nobody: "2 ties not back", "gas still off".
func restWords(what string, places []string) string {
	if rest, isTie := strings.CutPrefix(what, "tie "); isTie {
		return howMany(int64(len(places)), "tie") + " " + rest
	}
	return strings.Join(few(places), ", ") + " " + what
}

// leftRank is how urgent something that was left is: more so once the day is over.
func (w *wants) leftRank(l jobs.Left) int {
	over := w.overSince(l.Since)
	switch {
	case l.Place == jobs.PeopleBelow && (over || l.Dangerous):
		return rankBelow
	case l.Dangerous && over:
		return rankNight
	case l.Dangerous:
		return rankDanger
	}
	return rankTie
}

// overSince tells whether the day of a moment is over, by the clock of the site.
func (w *wants) overSince(since time.Time) bool {
	return w.now.Hour() >= dayEnds || since.In(w.now.Location()).Format(time.DateOnly) != w.now.Format(time.DateOnly)
}

func peopleWords(rank int, what string) string {
	if rank < rankBelow {
		return "People below"
	}
	return "People " + what
}

// answers is what waits for the office to be answered.
func (w *wants) answers(b jobs.Brief) {
	today := w.now.Format(time.DateOnly)
	var late, rest, asked []jobs.Item
	due := ""
	for _, f := range b.Owed.Findings {
		if f.Due == "" || f.Due >= today {
			rest = append(rest, f.Item)
			continue
		}
		late = append(late, f.Item)
		if due == "" || f.Due < due {
			due = f.Due
		}
	}
	for _, c := range b.Owed.Changes {
		asked = append(asked, c.Item)
	}
	if len(late) > 0 {
		w.add(rankLate, w.theOne("/findings", late), "%s, due %s", web.ListWords(late, 0, "A finding overdue", "%d findings overdue"), jobs.DayWords(due))
	}
	if len(rest) > 0 {
		w.add(rankFinding, w.theOne("/findings", rest), "%s", web.ListWords(rest, b.Owed.MoreFindings, "A finding open", "%d findings open"))
	}
	if len(asked) > 0 {
		w.add(rankChange, w.theOne("/changes", asked), "%s", web.ListWords(asked, b.Owed.MoreChanges, "A change to answer", "%d changes to answer"))
	}
}

// theOne is the page of a record, or that of all where there are several.
func (w *wants) theOne(page string, items []jobs.Item) string {
	if len(items) == 1 {
		return w.base + page + "/" + items[0].ID.String()
	}
	return w.base + page
}

// place is where one acts on a place: on the support's page, or on that of the job where
// the place is no support of the plan.
func (w *wants) place(b jobs.Brief, name, part string) string {
	if slices.Contains(b.Undrawn, name) {
		return w.base + part
	}
	return w.base + "/supports/" + pathEscape(name)
}

// few lists the first of many places.
func few(names []string) []string {
	const most = 4
	if len(names) <= most {
		return names
	}
	return append(slices.Clone(names[:most]), fmt.Sprintf("%d more", len(names)-most))
}

// howMany writes how many there are of something.
func howMany(n int64, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
