package web

import (
	"errors"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"relevel/jobs"
	"relevel/levelling"
	"relevel/levelling/underfloor"
)

// KitPage lists the firm's jacks and lasers, takes others, and holds how it goes
// about lifting.
type KitPage struct {
	Frame
	Jacks         []KitJack
	ID            string     // the id the next record will have
	Typed         url.Values // what is in the form of a jack
	WrongJack     Wrong
	Lasers        []KitLaser
	TypedLaser    url.Values // in that of a laser
	WrongLaser    Wrong
	Practice      url.Values // what is in that of the practice
	WrongPractice Wrong
}

// KitJack is one jack with what is to be said of it today, and what was recorded of
// it before.
type KitJack struct {
	jobs.Jack
	Due     string
	Earlier []jobs.Jack
}

func (KitPage) page() string { return "kit" }

// Href leads to the form with what is known of the jack.
func (j KitJack) Href() string { return "?" + url.Values{"jack": {j.Name}}.Encode() + "#add" }

// KitLaser is one laser with what is to be said of it today.
type KitLaser struct {
	jobs.Laser
	Due     string
	Earlier []jobs.Laser
	Checks  []KitCheck
}

// KitCheck is what a check on some job found.
type KitCheck struct {
	When, Job, Says, Href string
	Void                  bool
}

// Href leads to the form with what is known of the laser.
func (l KitLaser) Href() string { return "?" + url.Values{"laser": {l.Name}}.Encode() + "#add-laser" }

// upkeepForm is the part of a form that all kit has. The prefix keeps the inputs
// of one page apart.
type upkeepForm struct {
	Prefix string
	Typed  url.Values
	Wrong  Wrong
}

// JackUpkeep and LaserUpkeep are that part of the two forms.
func (p KitPage) JackUpkeep() upkeepForm { return upkeepForm{"", p.Typed, p.WrongJack} }

// LaserUpkeep is that of a laser.
func (p KitPage) LaserUpkeep() upkeepForm { return upkeepForm{"laser-", p.TypedLaser, p.WrongLaser} }

// Known tells whether the form is about a jack that is recorded already.
func (p KitPage) Known() bool {
	return slices.ContainsFunc(p.Jacks, func(j KitJack) bool { return j.Name == p.Typed.Get("name") })
}

// KnownLaser tells whether the form is about a laser that is recorded already.
func (p KitPage) KnownLaser() bool {
	return slices.ContainsFunc(p.Lasers, func(l KitLaser) bool { return l.Name == p.TypedLaser.Get("name") })
}

// laserFields are the inputs of a laser that take numbers.
var laserFields = []cell{{Name: "sd_mm_per_m", Label: "± for each metre of distance, mm"}}

// LaserCells are the figures of a laser.
func (p KitPage) LaserCells() []cell { return p.cells(laserFields, p.TypedLaser, p.WrongLaser) }

// jackFields are the inputs of a jack that take numbers.
var jackFields = []cell{
	{Name: "rated_kn", Label: "Marked, kN"}, {Name: "bore_mm", Label: "Bore of its ram, mm"},
}

// JackCells are the figures of a jack.
func (p KitPage) JackCells() []cell { return p.cells(jackFields, p.Typed, p.WrongJack) }

// practiceFields are the inputs of the practice that take one number.
var practiceFields = []cell{
	{Name: "step_mm", Label: "Most in one move, mm"}, {Name: "daily_mm", Label: "Most at one support in a day, mm"},
	{Name: "neighbour_mm", Label: "Most between neighbours, mm"}, {Name: "neighbour_ratio", Label: "or their distance over"},
	{Name: "jacks", Label: "Jacks pumped together"}, {Name: "max_out", Label: "Most supports out at once"}, {Name: "max_on_blocking", Label: "Most on blocking at once"},
	{Name: "rest_hours", Label: "Rest before signing, hours"},
}

// bagField is how much a bag makes; litres, since they stand on the bags.
const bagField = "bag_litres"

// packingFields are those about packers and pads.
var packingFields = []cell{{Name: "within_mm", Label: "A stack may be off by, mm"}, {Name: "max_pieces", Label: "Pieces on one another, at most"},
	{Name: bagField, Label: "A bag of concrete makes, litres"}}

// PracticeCells are the figures of the practice that fill in an aim.
func (p KitPage) PracticeCells() []cell { return p.cells(practiceFields, p.Practice, p.WrongPractice) }

// PackingCells are those about packers and pads.
func (p KitPage) PackingCells() []cell { return p.cells(packingFields, p.Practice, p.WrongPractice) }

// Rules are the published rules for packing.
func (p KitPage) Rules() []underfloor.PackingRule { return underfloor.PackingRules() }

func (p KitPage) cells(fields []cell, typed url.Values, wrong Wrong) []cell {
	out := make([]cell, len(fields))
	for i, f := range fields {
		f.Label, f.Value, f.Wrong = p.Words.Say(f.Label), typed.Get(f.Name), wrong[f.Name]
		out[i] = f
	}
	return out
}

// JackOf makes a jack of what was typed. If something is wrong the answer names
// the inputs.
func JackOf(typed url.Values) (jobs.Jack, Wrong) {
	wrong := Wrong{}
	j := jobs.Jack{Name: strings.TrimSpace(typed.Get("name")), RatedKN: figureOf(typed, "rated_kn", wrong), BoreMM: figureOf(typed, "bore_mm", wrong), Gauge: typed.Get("gauge") != "", Upkeep: upkeepOf(typed)}
	return j, checkedBy(j.Check, wrong)
}

func upkeepOf(typed url.Values) jobs.Upkeep {
	of := func(name string) string { return strings.TrimSpace(typed.Get(name)) }
	return jobs.Upkeep{InspectedOn: of("inspected_on"), DueOn: of("due_on"), Gone: of("gone") != "", Note: of("note")}
}

// upkeepTyped is the part of a form that all kit has.
func upkeepTyped(name string, u jobs.Upkeep) url.Values {
	v := url.Values{"name": {name}, "inspected_on": {u.InspectedOn}, "due_on": {u.DueOn}, "note": {u.Note}}
	if u.Gone {
		v.Set("gone", "yes")
	}
	return v
}

// JackTyped is a jack as its form holds it.
func JackTyped(j jobs.Jack) url.Values {
	v := upkeepTyped(j.Name, j.Upkeep)
	putFigure(v, "rated_kn", j.RatedKN)
	putFigure(v, "bore_mm", j.BoreMM)
	if j.Gauge {
		v.Set("gauge", "yes")
	}
	return v
}

// LaserOf makes a laser of what was typed, as JackOf does.
func LaserOf(typed url.Values) (jobs.Laser, Wrong) {
	wrong := Wrong{}
	l := jobs.Laser{Name: strings.TrimSpace(typed.Get("name")), SDMMPerM: figureOf(typed, "sd_mm_per_m", wrong), Upkeep: upkeepOf(typed)}
	return l, checkedBy(l.Check, wrong)
}

// LaserTyped is a laser as its form holds it.
func LaserTyped(l jobs.Laser) url.Values {
	v := upkeepTyped(l.Name, l.Upkeep)
	putFigure(v, "sd_mm_per_m", l.SDMMPerM)
	return v
}

func putFigure(v url.Values, name string, x float64) {
	if x != 0 {
		v.Set(name, strconv.FormatFloat(x, 'f', -1, 64))
	}
}

// PracticeOf makes a practice of what was typed.
func PracticeOf(typed url.Values) (jobs.Practice, Wrong) {
	wrong := Wrong{}
	f := func(name string) float64 { return figureOf(typed, name, wrong) }
	n := func(name string) int { return countOf(typed, name, wrong) }
	p := jobs.Practice{StepMM: f("step_mm"), DailyMM: f("daily_mm"), NeighbourMM: f("neighbour_mm"), Ratio: f("neighbour_ratio"),
		Jacks: n("jacks"), MaxOut: n("max_out"), MaxBlocked: n("max_on_blocking"), RestHours: f("rest_hours"),
		WithinMM: f("within_mm"), MaxPieces: n("max_pieces"), BagM3: f(bagField) / 1000, PackingRule: strings.TrimSpace(typed.Get("packing_rule"))}
	if raw := strings.TrimSpace(typed.Get("stock_mm")); raw != "" {
		stock, err := numbers(raw)
		if err != nil {
			wrong["stock_mm"] = err.Error()
		}
		p.StockMM = stock
	}
	return p, checkedBy(p.Check, wrong)
}

// countOf reads one whole number, nothing as 0.
func countOf(typed url.Values, name string, wrong Wrong) int {
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

// checkedBy adds what a check says, unless something could not even be read.
func checkedBy(check func() error, wrong Wrong) Wrong {
	var bad *levelling.InputError
	if len(wrong) == 0 && errors.As(check(), &bad) {
		field, _, _ := strings.Cut(bad.Field, "[")
		if field == "bag_m3" {
			field, bad = bagField, &levelling.InputError{Cure: "how many litres of concrete a bag makes, such as 9, or nothing"}
		}
		wrong[field] = bad.Cure
	}
	return wrong
}

// PracticeTyped is a practice as its form holds it.
func PracticeTyped(p jobs.Practice) url.Values {
	v := url.Values{"packing_rule": {p.PackingRule}, "stock_mm": {figures(p.StockMM)}}
	for name, x := range map[string]float64{
		"step_mm": p.StepMM, "daily_mm": p.DailyMM, "neighbour_mm": p.NeighbourMM, "neighbour_ratio": p.Ratio, "jacks": float64(p.Jacks),
		"max_out": float64(p.MaxOut), "max_on_blocking": float64(p.MaxBlocked), "rest_hours": p.RestHours,
		"within_mm": p.WithinMM, "max_pieces": float64(p.MaxPieces), bagField: math.Round(p.BagM3*1e6) / 1000,
	} {
		putFigure(v, name, x)
	}
	return v
}

func figures(xs []float64) string {
	words := make([]string, len(xs))
	for i, x := range xs {
		words[i] = strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strings.Join(words, ", ")
}
