package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"relevel/jobs"
	"relevel/levelling"
)

// ChoicesPage puts the aims that a floor could have beside each other.
type ChoicesPage struct {
	Frame
	Margin   string // as it was typed
	Wrong    string // what the margin takes instead
	Choices  []ChoiceLine
	Profiles []ProfileLine
	Chosen   *ChoiceLine // the one whose picture is shown
	Floor    template.HTML
	Agree    string // where the form is, with the choice filled in
	Agreed   *AgreedAim
	Around
}

func (ChoicesPage) page() string { return "choices" }

// ChoiceLine is one aim in the table.
type ChoiceLine struct {
	jobs.Choice
	No       int
	MarginMM float64 // off its limits, of the least lift
	Key      string  // names it in an address
	Href     string  // of its picture
	Chosen   bool
}

// ProfileLine is one profile, and what it would say of the floor after each of
// the choices, in their order.
type ProfileLine struct {
	Title, Source string
	Verdicts      []Cell
}

// Cell is one verdict of the table, in short.
type Cell struct {
	Words string
	Out   bool // the floor would not do
}

// ProfileLines turns what each choice says of every profile into what every
// profile says of each choice.
func ProfileLines(choices []ChoiceLine) []ProfileLine {
	var lines []ProfileLine
	at := map[string]int{}
	for i, c := range choices {
		for _, a := range c.After {
			k, known := at[a.Profile]
			if !known {
				k = len(lines)
				at[a.Profile] = k
				lines = append(lines, ProfileLine{a.Title, a.Source, make([]Cell, len(choices))})
			}
			lines[k].Verdicts[i] = c.column(a)
		}
	}
	return lines
}

// column is what a profile says of the floor after a choice, in a narrow column.
func (c ChoiceLine) column(a jobs.AfterVerdict) Cell {
	if c.Why != "" {
		return Cell{Words: "cannot be met"}
	}
	switch a.Verdict {
	case levelling.TooClose:
		return Cell{Words: "too close to tell"}
	case levelling.Indicated:
		return Cell{"indicated", true}
	case levelling.NotIndicated:
		return Cell{Words: "not indicated"}
	}
	return Cell{jobs.VerdictWords(a.Verdict), a.Verdict == levelling.Outside}
}

// ChainWords says the limits one after another, from the support that forces
// to the one that is lifted most.
func (c ChoiceLine) ChainWords(u levelling.Unit) string {
	if len(c.Chain) == 0 {
		return ""
	}
	first := c.Chain[0].From
	parts := []string{first + " " + c.moves(first, u)}
	for _, l := range c.Chain {
		part := fmt.Sprintf("%s may lie at most %s below %s", l.To, u.ShowLimit(l.LimitMM)+u.Word(), l.From)
		if l.Kind == levelling.PairLimit {
			part += fmt.Sprintf(" (%s)", u.ShowPlan(math.Round(l.DistanceM*10)/10))
		} else {
			part += " (highest to lowest)"
		}
		if c.MarginMM > 0 {
			part += ", the margin off"
		}
		parts = append(parts, part)
	}
	last := c.Chain[len(c.Chain)-1].To
	end := "so " + last + " " + c.moves(last, u)
	if c.Why != "" { // what would be, were it not fixed or capped
		end = strings.Replace(end, " comes ", " would have to come ", 1)
	}
	return strings.Join(append(parts, end), "; ") + "."
}

// moves says what becomes of one support.
func (c ChoiceLine) moves(id string, u levelling.Unit) string {
	for _, t := range c.Lifts {
		switch {
		case t.ID != id:
		case t.LiftMM >= 0.05:
			return "comes up " + u.ShowLimit(t.LiftMM) + u.Word()
		case t.LiftMM <= -0.05:
			return "comes down " + u.ShowLimit(-t.LiftMM) + u.Word()
		}
	}
	return "stays"
}
