package server

import (
	"errors"
	"net/http"
	"slices"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
	"relevel/levelling/underfloor"
	"relevel/server/web"
)

// getSchedulePage is GET /jobs/{job}/schedule?choice=&soil=&thickness_mm=&bag_litres=&replace=.
func (p *pages) getSchedulePage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, page, err := p.schedule(r, firm)
	if err != nil {
		return err
	}
	page.Frame, page.Around = p.frame(r, v, "Schedule, "+v.job.Name), v.around("/schedule")
	page.Live = v.live()
	page.CSV = v.base() + "/schedule.csv?" + r.URL.RawQuery
	page.Printed = v.now.Format("2 January 2006")
	status := http.StatusOK
	if len(page.Ask.Wrong) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return show(w, status, page)
}

// getScheduleCSV is GET /jobs/{job}/schedule.csv with the same questions.
func (p *pages) getScheduleCSV(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	_, page, err := p.schedule(r, firm)
	if err != nil {
		return err
	}
	for field, cure := range page.Ask.Wrong {
		return levelling.Bad(field, cure)
	}
	sendCSV(w, "schedule", scheduleRows(page.Schedule))
	return nil
}

// schedule reckons what an address asks for. A figure that cannot be read is
// left out and said to be wrong.
func (p *pages) schedule(r *http.Request, firm events.ID) (v view, page web.SchedulePage, err error) {
	if v, err = p.look(r, firm); err != nil {
		return v, page, err
	}
	practice, err := p.config.Store.FindPractice(r.Context(), firm)
	if err != nil {
		return v, page, err
	}
	own, err := p.firmProfiles(r.Context(), firm)
	if err != nil {
		return v, page, err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return v, page, err
	}
	asked := r.URL.Query()
	ask := jobs.PriceAsk{Words: v.firm.Words.Words(), StepMM: practice.StepMM, Soil: asked.Get("soil"), Now: v.now}
	page.Ask = web.ScheduleAsk{Soil: ask.Soil, Thickness: asked.Get("thickness_mm"), BagLitres: asked.Get("bag_litres"), Choice: asked.Get("choice")}
	var bad *levelling.InputError
	if ask.Pour, err = pourOf(r); errors.As(err, &bad) {
		page.Ask.Wrong = web.Wrong{bad.Field: bad.Cure}
	}
	if err := p.ownBags(r, firm, &ask.Pour); err != nil {
		return v, page, err
	}
	if page.Ask.BagLitres == "" && ask.Pour.BagM3 > 0 {
		page.Ask.BagLitres = decimal(roundTo(ask.Pour.BagM3*1000, 6))
	}
	if asked.Has("decided") {
		ask.Replace = append([]string{}, asked["replace"]...)
	}
	err = p.states.useIn(r.Context(), v.key, v.firm, func(state *jobs.State) {
		choices := state.Choices(0, own...)
		ask.Choice = pricedChoice(choices, &page.Ask, v.picture.Aim != nil)
		pricing := state.Pricing(ask, entries)
		page.Schedule = pricing.Schedule()
		page.Ask.Replace = replaceLines(pricing)
		page.Begin = len(choices) == 0
	})
	for _, soil := range underfloor.Soils() {
		page.Ask.Soils = append(page.Ask.Soils, web.Choice{Value: soil.Name})
	}
	return v, page, err
}

// pricedChoice is the aim that is priced: the one asked for, else the agreed one,
// nil, else the first that a floor could have.
func pricedChoice(choices []jobs.Choice, ask *web.ScheduleAsk, agreed bool) *jobs.Choice {
	if agreed {
		ask.Choices = append(ask.Choices, web.Choice{Value: "", Label: "As agreed"})
	}
	for _, c := range choices {
		ask.Choices = append(ask.Choices, web.Choice{Value: choiceKey(c), Label: c.Words})
	}
	at := slices.IndexFunc(choices, func(c jobs.Choice) bool { return choiceKey(c) == ask.Choice })
	switch {
	case at >= 0:
	case agreed || len(choices) == 0:
		return nil
	default:
		at, ask.Choice = 0, choiceKey(choices[0])
	}
	return &choices[at]
}

// replaceLines offers each support to be replaced, those that are, ticked.
func replaceLines(p jobs.Pricing) (lines []web.ReplaceLine) {
	for _, s := range p.Supports {
		lines = append(lines, web.ReplaceLine{ID: s.ID, Why: s.Replace, Ticked: s.Replace != ""})
	}
	return lines
}

// scheduleRows is a schedule as a table: a line a figure, what is not known empty.
func scheduleRows(s jobs.Schedule) [][]string {
	rows := [][]string{{"room", "item", "figure", "plus_minus", "unit", "from", "which"}}
	for _, part := range s.Parts {
		room := part.Room
		if part.Whole {
			room = "the whole house"
		}
		for _, l := range part.Lines {
			figure, pm := "", ""
			if l.Figure != nil {
				figure = csvNumber(*l.Figure, csvDecimals[l.Unit])
			}
			if l.PM > 0 {
				pm = csvNumber(l.PM, csvDecimals[l.Unit])
			}
			rows = append(rows, []string{csvCell(room), csvCell(l.Item), figure, pm, csvCell(l.Unit), csvCell(l.From), csvCell(joined("; ", l.Which...))})
		}
	}
	return rows
}

// csvDecimals is to how many decimals a unit stands in a table.
var csvDecimals = map[string]int{"mm": 1, "m": 2, "m²": 2, "m³": 4}
