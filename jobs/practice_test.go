package jobs_test

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling/underfloor"
)

func practice() jobs.Practice {
	return jobs.Practice{StepMM: 3, DailyMM: 9.5, NeighbourMM: 4, Ratio: 500, Jacks: 2, MaxOut: 1, MaxBlocked: 3, RestHours: 12,
		StockMM: []float64{25, 18, 0.8}, WithinMM: 1, MaxPieces: 2, PackingRule: "mbie", BagM3: 0.009}
}

func TestPracticeCheck(t *testing.T) {
	tests := map[string]struct {
		change func(*jobs.Practice)
		field  string
	}{
		"OK":               {func(*jobs.Practice) {}, ""},
		"Empty":            {func(p *jobs.Practice) { *p = jobs.Practice{} }, ""},
		"StepBelowNought":  {func(p *jobs.Practice) { p.StepMM = -1 }, "step_mm"},
		"StepNaN":          {func(p *jobs.Practice) { p.StepMM = math.NaN() }, "step_mm"},
		"DailyOfAMetre":    {func(p *jobs.Practice) { p.DailyMM = 1000 }, "daily_mm"},
		"NeighbourInf":     {func(p *jobs.Practice) { p.NeighbourMM = math.Inf(1) }, "neighbour_mm"},
		"RatioAsAPart":     {func(p *jobs.Practice) { p.Ratio = 0.002 }, "neighbour_ratio"},
		"JacksBelowNought": {func(p *jobs.Practice) { p.Jacks = -1 }, "jacks"},
		"OutBelowNought":   {func(p *jobs.Practice) { p.MaxOut = -1 }, "max_out"},
		"BlockedTooMany":   {func(p *jobs.Practice) { p.MaxBlocked = 5001 }, "max_on_blocking"},
		"RestTooLong":      {func(p *jobs.Practice) { p.RestHours = 10001 }, "rest_hours"},
		"NoThickness":      {func(p *jobs.Practice) { p.StockMM[1] = 0 }, "stock_mm[1]"},
		"ThicknessNaN":     {func(p *jobs.Practice) { p.StockMM[2] = math.NaN() }, "stock_mm[2]"},
		"TooManySizes":     {func(p *jobs.Practice) { p.StockMM = make([]float64, 201) }, "stock_mm"},
		"WithinTooMuch":    {func(p *jobs.Practice) { p.WithinMM = 51 }, "within_mm"},
		"PiecesTooMany":    {func(p *jobs.Practice) { p.MaxPieces = 21 }, "max_pieces"},
		"RuleOfNobody":     {func(p *jobs.Practice) { p.PackingRule = "mine" }, "packing_rule"},
		"BagInLitres":      {func(p *jobs.Practice) { p.BagM3 = 9 }, "bag_m3"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			p := practice()
			test.change(&p)
			wantField(t, p.Check(), test.field)
		})
	}
}

// A practice fills in an aim, and the packers; one that is empty sets nothing.
func TestPracticeInUse(t *testing.T) {
	want := events.Aim{StepMM: 3, DailyMM: 9.5, NeighbourMM: 4, Ratio: 500, Jacks: 2, MaxOut: 1, MaxBlocked: 3, RestHours: 12}
	if diff := cmp.Diff(want, practice().Aim()); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(events.Aim{}, (jobs.Practice{}).Aim()); diff != "" {
		t.Errorf("a default of nobody's: %s", diff)
	}
	packers := jobs.PackerRules{Rule: "mbie", Stock: underfloor.Stock{SizesMM: []float64{25, 18, 0.8}, MaxPieces: 2, WithinMM: 1}}
	if diff := cmp.Diff(packers, practice().Packers()); diff != "" {
		t.Error(diff)
	}
	if one := (jobs.Practice{}).Packers().Stock.MaxPieces; one != 1 {
		t.Errorf("%d pieces where nobody said, want one", one)
	}
}

func TestPracticeSame(t *testing.T) {
	p, later, fewer, bag := practice(), practice(), practice(), practice()
	later.CreatedAt = p.CreatedAt.Add(time.Hour)
	fewer.StockMM = fewer.StockMM[:2]
	bag.BagM3 = 0
	if !p.Same(later) || p.Same(fewer) || p.Same(bag) {
		t.Error("the same is what it says, whenever it was created")
	}
	none, empty := jobs.Practice{}, jobs.Practice{StockMM: []float64{}}
	if !none.Same(empty) {
		t.Error("no stock is no stock")
	}
}
