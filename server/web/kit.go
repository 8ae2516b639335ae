package web

import (
	"errors"
	"net/url"
	"strconv"
	"strings"

	"relevel/jobs"
	"relevel/levelling"
	"relevel/levelling/underfloor"
)

// KitPage lists the firm's jacks, takes another, and holds how it goes about
// lifting.
type KitPage struct {
	Frame
	Jacks    []KitJack
	ID       string     // the id the next record will have
	Typed    url.Values // what is in the form of a jack
	Practice url.Values // and in that of the practice
	Wrong    Wrong
}

// KitJack is one jack with what is to be said of it today.
type KitJack struct {
	jobs.Jack
	Due string
}

func (KitPage) page() string { return "kit" }

// jackFields are the inputs of a jack that take numbers and dates.
var jackFields = []cell{
	{Name: "rated_kn", Label: "Marked, kN"}, {Name: "bore_mm", Label: "Bore of its ram, mm"},
}

// JackCells are the figures of a jack.
func (p KitPage) JackCells() []cell { return p.cells(jackFields, p.Typed) }

// practiceFields are the inputs of the practice that take one number.
var practiceFields = []cell{
	{Name: "step_mm", Label: "Most in one move, mm"}, {Name: "daily_mm", Label: "Most at one support in a day, mm"},
	{Name: "neighbour_mm", Label: "Most between neighbours, mm"}, {Name: "neighbour_ratio", Label: "or their distance over"},
	{Name: "jacks", Label: "Jacks pumped together"}, {Name: "max_out", Label: "Most supports out at once"}, {Name: "max_on_blocking", Label: "Most on blocking at once"},
	{Name: "rest_hours", Label: "Rest before signing, hours"},
}

// packerFields are those about packers.
var packerFields = []cell{{Name: "within_mm", Label: "A stack may be off by, mm"}, {Name: "max_pieces", Label: "Pieces on one another, at most"}}

// PracticeCells and PackerCells are the figures of the practice.
func (p KitPage) PracticeCells() []cell { return p.cells(practiceFields, p.Practice) }

// PackerCells are those about packers.
func (p KitPage) PackerCells() []cell { return p.cells(packerFields, p.Practice) }

// Rules are the published rules for packing.
func (p KitPage) Rules() []underfloor.PackingRule { return underfloor.PackingRules() }

func (p KitPage) cells(fields []cell, typed url.Values) []cell {
	out := make([]cell, len(fields))
	for i, f := range fields {
		f.Value, f.Wrong = typed.Get(f.Name), p.Wrong[f.Name]
		out[i] = f
	}
	return out
}

// JackOf makes a jack of what was typed. If something is wrong the answer names
// the inputs.
func JackOf(typed url.Values) (jobs.Jack, Wrong) {
	of := func(name string) string { return strings.TrimSpace(typed.Get(name)) }
	wrong := Wrong{}
	j := jobs.Jack{Name: of("name"), RatedKN: figureOf(typed, "rated_kn", wrong), BoreMM: figureOf(typed, "bore_mm", wrong),
		InspectedOn: of("inspected_on"), DueOn: of("due_on"), Gone: of("gone") != "", Note: of("note")}
	return j, checkedBy(j.Check, wrong)
}

// PracticeOf makes a practice of what was typed.
func PracticeOf(typed url.Values) (jobs.Practice, Wrong) {
	wrong := Wrong{}
	f := func(name string) float64 { return figureOf(typed, name, wrong) }
	n := func(name string) int {
		raw := strings.TrimSpace(typed.Get(name))
		if raw == "" {
			return 0
		}
		v, err := strconv.Atoi(raw)
		if err != nil {
			wrong[name] = "a whole number"
		}
		return v
	}
	p := jobs.Practice{StepMM: f("step_mm"), DailyMM: f("daily_mm"), NeighbourMM: f("neighbour_mm"), Ratio: f("neighbour_ratio"),
		Jacks: n("jacks"), MaxOut: n("max_out"), MaxBlocked: n("max_on_blocking"), RestHours: f("rest_hours"),
		WithinMM: f("within_mm"), MaxPieces: n("max_pieces"), PackingRule: strings.TrimSpace(typed.Get("packing_rule"))}
	if raw := strings.TrimSpace(typed.Get("stock_mm")); raw != "" {
		stock, err := numbers(raw)
		if err != nil {
			wrong["stock_mm"] = err.Error()
		}
		p.StockMM = stock
	}
	return p, checkedBy(p.Check, wrong)
}

// checkedBy adds what a check says, unless something could not even be read.
func checkedBy(check func() error, wrong Wrong) Wrong {
	var bad *levelling.InputError
	if len(wrong) == 0 && errors.As(check(), &bad) {
		field, _, _ := strings.Cut(bad.Field, "[")
		wrong[field] = bad.Cure
	}
	return wrong
}

// PracticeTyped is a practice as its form holds it.
func PracticeTyped(p jobs.Practice) url.Values {
	v := url.Values{"packing_rule": {p.PackingRule}}
	put := func(name string, x float64) {
		if x != 0 {
			v.Set(name, strconv.FormatFloat(x, 'f', -1, 64))
		}
	}
	put("step_mm", p.StepMM)
	put("daily_mm", p.DailyMM)
	put("neighbour_mm", p.NeighbourMM)
	put("neighbour_ratio", p.Ratio)
	put("jacks", float64(p.Jacks))
	put("max_out", float64(p.MaxOut))
	put("max_on_blocking", float64(p.MaxBlocked))
	put("rest_hours", p.RestHours)
	put("within_mm", p.WithinMM)
	put("max_pieces", float64(p.MaxPieces))
	var stock []string
	for _, x := range p.StockMM {
		stock = append(stock, strconv.FormatFloat(x, 'f', -1, 64))
	}
	v.Set("stock_mm", strings.Join(stock, ", "))
	return v
}
