package web

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// ProfilesPage lists what is called level enough, and takes another profile of
// the firm's own.
type ProfilesPage struct {
	Frame
	Own       []ProfileAsks
	Published []ProfileAsks
	ID        string     // the id the next one will have
	Typed     url.Values // what is in the form
	Wrong     Wrong
}

// ProfileAsks is what one profile asks of a floor, in words.
type ProfileAsks struct {
	Name, Title, Source string
	Rules               []string
}

func (ProfilesPage) page() string { return "profiles" }

// The rows of the form that a limit can be typed in.
var limitRows = [...]string{"pairs[0]", "pairs[1]", "pairs[2]", roomRow}

const roomRow = "room"

// PairRow is one limit of two places as the form shows it.
type PairRow struct {
	Most, Within, Rule cell
	Rules              []Choice
}

// Pair is a row of the form for two places.
func (p ProfilesPage) Pair(i int) PairRow {
	row := limitRows[i]
	return PairRow{
		Most: p.input(row+".limit_mm", "At most, mm"), Within: p.input(row+".over_m", "within, m"), Rule: p.input(row+".rule", "closer than that"),
		Rules: []Choice{{string(levelling.Flat), "the same"}, {string(levelling.Proportional), "in proportion"}},
	}
}

// Room is the input of the highest less the lowest.
func (p ProfilesPage) Room() cell { return p.input(roomRow+".limit_mm", "At most, mm") }

// MoreOpen tells whether something was typed below the first row.
func (p ProfilesPage) MoreOpen() bool {
	return slices.ContainsFunc(limitRows[1:3], func(row string) bool { return rowTyped(p.Typed, row) })
}

// input is one input of the form with what was typed there.
func (p ProfilesPage) input(name, label string) cell {
	return cell{name, label, p.Typed.Get(name), p.Wrong[name]}
}

// rowTyped tells whether a row is filled in; its rule always is.
func rowTyped(typed url.Values, row string) bool {
	return strings.TrimSpace(typed.Get(row+".limit_mm")+typed.Get(row+".over_m")) != ""
}

// ProfileOf makes a profile of what was typed. If something is wrong the answer
// names the inputs.
func ProfileOf(typed url.Values) (jobs.Profile, Wrong) {
	of := func(name string) string { return strings.TrimSpace(typed.Get(name)) }
	p, wrong := jobs.Profile{Name: of("name"), Title: of("title"), Source: of("source")}, Wrong{}
	var rows []string // of the limits, in their order
	for _, row := range limitRows {
		if rowTyped(typed, row) {
			p.Limits, rows = append(p.Limits, limitOf(typed, row, wrong)), append(rows, row)
		}
	}
	if bad := (*levelling.InputError)(nil); len(wrong) == 0 && errors.As(p.Check(), &bad) {
		wrong[inputOf(bad.Field, rows)] = bad.Cure
	}
	return p, wrong
}

func limitOf(typed url.Values, row string, wrong Wrong) events.Limit {
	mm := figureOf(typed, row+".limit_mm", wrong)
	if row == roomRow {
		return events.Limit{Kind: levelling.RangeLimit, LimitMM: mm}
	}
	return events.Limit{
		Kind: levelling.PairLimit, OverM: figureOf(typed, row+".over_m", wrong), LimitMM: mm,
		Rule: levelling.LimitRule(typed.Get(row + ".rule")),
	}
}

// figureOf reads one number; where nothing was typed, the check of the limit
// says what it takes.
func figureOf(typed url.Values, name string, wrong Wrong) float64 {
	raw := strings.TrimSpace(typed.Get(name))
	if raw == "" {
		return 0
	}
	read := number
	if strings.HasSuffix(name, "_mm") {
		read = mmOf
	}
	x, err := read(raw)
	if err != nil {
		wrong[name] = err.Error()
	}
	return x
}

// inputOf leads from a field of the profile to its input on the page.
func inputOf(field string, rows []string) string {
	for i, row := range rows {
		if rest, ok := strings.CutPrefix(field, fmt.Sprintf("limits[%d]", i)); ok {
			return row + rest
		}
	}
	return field
}
