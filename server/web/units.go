package web

import (
	"fmt"
	"html/template"
	"math"
	"regexp"
	"strconv"
	"strings"

	"relevel/jobs"
	"relevel/levelling"
)

// lengths writes what pages say of lengths, in one unit: it is the only place that
// does. Templates call it by the names below; what is typed keeps its own unit.
type lengths struct{ unit levelling.Unit }

// functionsIn are the functions of templates that write lengths.
func functionsIn(unit levelling.Unit) template.FuncMap {
	f := lengths{unit}
	return template.FuncMap{
		"signed":       unit.ShowSigned,
		"plain":        unit.Show,
		"mm":           unit.ShowFine,
		"length":       func(mm float64) string { return unit.ShowFine(mm) + unit.Word() },
		"planned":      unit.ShowPlan,
		"figure":       f.figure,
		"pm":           f.plusMinus,
		"pmof":         func(g jobs.Figure) string { return f.plusMinus(&g) },
		"pmsd":         unit.ShowSD,
		"tenth":        unit.ShowLimit,
		"tenths":       f.tenths,
		"bedding":      f.bedding,
		"checked":      f.checked,
		"nowup":        f.nowUp,
		"goes":         f.goes,
		"cutwords":     f.cutWords,
		"offwords":     f.offWords,
		"units":        func() levelling.Unit { return unit },
		"with_unit":    unit.ShowWith,
		"unitword":     func() string { return strings.TrimSpace(unit.Word()) },
		"quantity":     f.quantity,
		"quantityunit": f.quantityUnit,
	}
}

// unitChoices are what lengths can be typed in.
var unitChoices = []Choice{{"mm", "mm"}, {"cm", "cm"}, {"m", "m"}, {"in", "inches, also 1 3/16"}, {"ft", "feet and hundredths"}}

// figure writes a height, "" where nobody knows it.
func (f lengths) figure(h *jobs.Figure) string {
	if h == nil {
		return ""
	}
	return f.unit.Show(h.MM)
}

func (f lengths) plusMinus(h *jobs.Figure) string {
	if h == nil {
		return ""
	}
	return f.unit.ShowSD(h.SD)
}

// nowUp says what the staff reads before a move, and which way it goes: "now 1 287,
// 3 up".
func (f lengths) nowUp(stop *jobs.StopAt) string {
	return "now " + f.unit.Show(stop.StaffMM+stop.ByMM) + ", " + f.goes(stop)
}

// goes says which way a move goes: "3 up".
func (f lengths) goes(stop *jobs.StopAt) string {
	way := " up"
	if stop.ByMM < 0 {
		way = " down"
	}
	return f.unit.Show(math.Abs(stop.ByMM)) + way
}

// bedding says what letting a jack down is expected to lose.
func (f lengths) bedding(b jobs.Bedding) string {
	if b.From == 0 {
		return fmt.Sprintf("What letting it down loses is not known on this job yet: ±%s%s is common practice.", f.unit.ShowFine(b.SD), f.unit.Word())
	}
	return fmt.Sprintf("Letting it down is expected to lose %s ±%s%s, by %d like it here.", f.unit.ShowFine(b.MM), f.unit.ShowFine(b.SD), f.unit.Word(), b.From)
}

// quantity writes a figure of a schedule: heights and lengths on the plan in the unit,
// areas and volumes as they are.
func (f lengths) quantity(v float64, of string) string {
	switch {
	case of == "mm":
		return f.unit.Show(v)
	case of == "m" && f.quantityUnit(of) != of:
		return strings.TrimSuffix(f.unit.ShowPlan(v), f.unit.Word())
	}
	return Quantity(v, of)
}

// quantityUnit is what follows such a figure.
func (f lengths) quantityUnit(of string) string {
	switch {
	case of == "mm", of == "m" && (f.unit == levelling.Inch || f.unit == levelling.Foot):
		return strings.TrimSpace(f.unit.Word())
	}
	return of
}

// checked says what decides a rule, and what would tell where nothing does yet.
func (f lengths) checked(c jobs.RuleCheck) string {
	third := ""
	if c.Third != "" {
		third = c.Third + " off the line of "
	}
	said := fmt.Sprintf("%s%s and %s, %s%s of %s (%s)", third, c.Between[0], c.Between[1],
		f.unit.ShowLimit(c.FoundMM), f.unit.Word(), f.unit.ShowLimit(c.LimitMM), c.Rule)
	switch {
	case c.Verdict == levelling.ReadAgain:
		said += ". One more reading of each would tell"
	case c.Verdict == levelling.TooClose && c.Readings > 0 && c.Readings <= mostReadings:
		said += fmt.Sprintf(". %d readings of each would tell, or a straightedge", c.Readings)
	case c.Verdict == levelling.TooClose:
		said += ". A straightedge would tell"
	}
	return said
}

// inSentence is a length in a sentence, or a figure that is reckoned finer than
// anybody reads.
var inSentence = regexp.MustCompile(`\d+(\.\d+)? mm\b( per)?|\d+\.\d{2,}`)

// tenths writes the lengths of a sentence as they are held against limits. A slope
// keeps its unit.
func (f lengths) tenths(sentence string) string {
	return inSentence.ReplaceAllStringFunc(sentence, func(found string) string {
		digits, rest, length := strings.Cut(found, " mm")
		mm, err := strconv.ParseFloat(digits, 64)
		switch {
		case err != nil:
			return found
		case length && rest == "":
			return f.unit.ShowLimit(mm) + f.unit.Word()
		case length:
			return levelling.Millimetre.ShowLimit(mm) + " mm" + rest
		}
		return levelling.Millimetre.ShowLimit(mm)
	})
}

// cutWords says what is to be laid or sawn.
func (f lengths) cutWords(c jobs.Cutting) string {
	switch {
	case c.Ask != "":
		return Upper(c.Ask)
	case c.Cut && c.FromMM != nil:
		return fmt.Sprintf("saw %s from %s", f.unit.ShowFine(c.NeedMM), f.unit.ShowFine(*c.FromMM))
	case c.Cut:
		return "saw " + f.unit.ShowFine(c.NeedMM)
	}
	parts := make([]string, len(c.PiecesMM))
	for i, mm := range c.PiecesMM {
		parts[i] = f.unit.ShowFine(mm)
	}
	return strings.Join(parts, " + ")
}

// offWords says by how much a stack is over or short, "" where it is neither.
func (f lengths) offWords(c jobs.Cutting) string {
	switch {
	case c.OverMM > 0.05:
		return f.unit.ShowFine(c.OverMM) + " over"
	case c.OverMM < -0.05:
		return f.unit.ShowFine(-c.OverMM) + " short"
	}
	return ""
}

// UnitWords say what the form's lengths are in.
func (p RecordPage) UnitWords() string {
	switch levelling.Unit(p.Unit) {
	case levelling.Inch:
		return "inches"
	case levelling.Foot:
		return "feet"
	}
	return p.Unit
}
