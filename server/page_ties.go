package server

import (
	"fmt"
	"net/http"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getTiesPage is GET /jobs/{job}/ties: what holds the floor down, by trade, until
// it is back and tested.
func (p *pages) getTiesPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	page := web.RegisterPage{
		Heading: "Ties", Begin: "No tie is noted: pipes, wires, a brick skin, a stair, whatever holds the floor down or will be strained when it rises.",
		Acts: []web.Action{{Verb: "Note a tie", Href: v.backTo(events.KindTie, "/ties")}},
	}
	left := map[jobs.TieState]int{}
	byTrade := map[string]int{}
	for _, t := range jobs.Ties(entries) {
		left[t.State]++
		at, known := byTrade[t.Trade]
		if !known {
			at = len(page.Parts)
			byTrade[t.Trade] = at
			page.Parts = append(page.Parts, web.RegisterPart{Title: tradeWords(t.Trade), Columns: []string{"What", "At", "State"}})
		}
		page.Parts[at].Lines = append(page.Parts[at].Lines, v.tieLine(t))
	}
	page.Say = leftToDo(
		count(left[jobs.TieOpen], "tie still holds", "ties still hold"),
		count(left[jobs.TieFreed], "is freed and not back", "are freed and not back"))
	return p.showRegister(w, r, v, page, "/ties")
}

func tradeWords(trade string) string {
	if trade == "" {
		return "Nobody said which trade"
	}
	return web.Upper(trade)
}

// tieLine is one tie with what comes next for it.
func (v view) tieLine(t jobs.TieRecord) web.RegisterLine {
	line := v.registerLine(t.Tie.Tie, t.Noted,
		web.RegisterCell{Of: "what", Text: joined("; ", t.Tie.What, t.Tie.Where)},
		web.RegisterCell{Of: "at", Text: strings.Join(t.Tie.Supports, ", ")},
		web.RegisterCell{Of: "state", Text: v.tieState(t), Danger: t.State == jobs.TieOpen})
	line.Open = t.State == jobs.TieOpen || t.State == jobs.TieFreed
	all := []jobs.Entry{t.Noted}
	switch t.State {
	case jobs.TieOpen:
		line.Do = web.Action{Verb: "Free it", Href: v.backTo(events.KindTieFreed, "/ties", "tie", t.Tie.Tie)}
	case jobs.TieFreed:
		line.Do = web.Action{Verb: "Put it back", Href: v.backTo(events.KindTieBack, "/ties", "tie", t.Tie.Tie)}
	}
	for _, e := range []*jobs.Entry{t.Freed, t.Back} {
		if e != nil {
			all = append(all, *e)
		}
	}
	line.Photos = v.printsOf(all...)
	return line
}

// tieState says what became of a tie, how and when.
func (v view) tieState(t jobs.TieRecord) string {
	var parts []string
	if t.State != jobs.TieFreed {
		parts = append(parts, string(t.State))
	}
	if t.Freed != nil {
		freed := t.Freed.Body.(*events.TieFreed)
		parts = append(parts, joined(", ", "freed "+v.said(*t.Freed), freed.How))
	}
	if t.Back != nil {
		back := t.Back.Body.(*events.TieBack)
		parts = append(parts, joined(", ", v.said(*t.Back), back.Tested, back.Left))
	}
	return strings.Join(parts, "; ")
}

// joined puts what is not empty behind one another.
func joined(between string, parts ...string) string {
	var said []string
	for _, p := range parts {
		if p != "" {
			said = append(said, p)
		}
	}
	return strings.Join(said, between)
}

// count says how many there are, "" of none.
func count(n int, one, many string) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// leftToDo is one sentence on what is left, "" where nothing is.
func leftToDo(parts ...string) string {
	if said := joined(", ", parts...); said != "" {
		return said + "."
	}
	return ""
}
