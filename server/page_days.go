package server

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/web"
)

// getSafetyPage is GET /jobs/{job}/safety: what was checked before anybody went
// below, and how each day was ended.
func (p *pages) getSafetyPage(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	v, err := p.look(r, firm)
	if err != nil {
		return err
	}
	entries, err := p.entries(r.Context(), v)
	if err != nil {
		return err
	}
	page := web.RegisterPage{
		Heading: "Safety checks and days", Begin: "Nothing is recorded yet. The day’s check comes before anybody goes below, the day’s end when everybody is out.",
		Acts: []web.Action{{Verb: "Check safety", Href: v.backTo(events.KindSafetyCheck, "/safety")}, {Verb: "End the day", Href: v.backTo(events.KindDayEnd, "/safety")}},
	}
	if v.unsafe() {
		page.Warn = append(page.Warn, "Today’s safety check is not recorded.")
	}
	for _, d := range jobs.SiteDays(entries, v.zone) {
		page.Parts = append(page.Parts, v.dayPart(d))
	}
	return p.showRegister(w, r, v, page, "/safety")
}

// dayPart is one day on site.
func (v view) dayPart(d jobs.SiteDay) web.RegisterPart {
	part := web.RegisterPart{Title: dayTitle(d.Date), Columns: []string{"What"}}
	if len(d.Checks) == 0 && d.Worked {
		part.Lines = append(part.Lines, web.RegisterLine{Name: "Safety check", Cells: []web.RegisterCell{{Text: "none recorded, and work was done below", Danger: true}}})
	}
	for _, e := range d.Checks {
		part.Lines = append(part.Lines, v.checkLine(e))
	}
	for _, e := range d.Ends {
		part.Lines = append(part.Lines, v.endLine(e))
	}
	if len(d.Ends) == 0 && d.Worked {
		today := d.Date == v.now.Format(time.DateOnly)
		part.Lines = append(part.Lines, web.RegisterLine{Name: "End of the day", Cells: []web.RegisterCell{{Text: "not recorded", Danger: !today || v.now.Hour() >= dayEnds}}})
	}
	return part
}

func dayTitle(date string) string {
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return day.Format(web.Day + " 2006")
}

// checkLine is a check with every sentence of it.
func (v view) checkLine(e jobs.Entry) web.RegisterLine {
	b := e.Body.(*events.SafetyCheck)
	hatch, off := "", ""
	if b.AtHatch != "" {
		hatch = "at the hatch: " + b.AtHatch
	}
	if len(b.Off) > 0 {
		off = "turned off: " + strings.Join(b.Off, ", ")
	}
	return v.registerLine("Safety check", e, web.RegisterCell{Off: v.struckOff(b.Sentences), Text: joined("; ", hatch, off)})
}

// struckOff are the sentences of a check as they were struck off, and below them those of
// today's list that nobody did.
func (v view) struckOff(done []events.Initialled) (all []web.StruckOff) {
	left := web.SafetySentences()
	for _, s := range done {
		all = append(all, web.StruckOff{Sentence: web.SafetySentence(s.Sentence, v.firm.Words.Words()), Initials: s.Initials})
		left = slices.DeleteFunc(left, func(sentence string) bool { return sentence == s.Sentence })
	}
	for _, sentence := range left {
		all = append(all, web.StruckOff{Sentence: v.say(sentence)})
	}
	return all
}

// endLine says how a day was ended.
func (v view) endLine(e jobs.Entry) web.RegisterLine {
	b := e.Body.(*events.DayEnd)
	out := "not said that everybody was out"
	if b.Out {
		out = "everybody out"
	}
	left := ""
	if len(b.Left) > 0 {
		left = "left: " + strings.Join(b.Left, ", ")
	}
	on := ""
	if b.On {
		on = "what was off is on again"
	}
	line := v.registerLine("End of the day", e, web.RegisterCell{Text: joined("; ", out, left, b.Done, on), Danger: !b.Out})
	line.Open = !b.Out
	return line
}
