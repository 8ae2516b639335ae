package sheet_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"relevel/events"
	"relevel/jobs/sheet"
	"relevel/levelling"
)

// text is what a person, or somebody who means ill, may have typed.
func text(t *rapid.T, name string) string {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"", "", "B1-1", "=1+1", "+61", "-5", "@SUM(A1)", "'quoted", "''", " a ", "two\nlines", "a;b,c\td", `say "so"`, "\t=x", "＝1", "Ærø 屋"}),
		rapid.StringOfN(rapid.RuneFrom([]rune("ab1-=+'\";, \t\n@é")), 0, 12, -1),
	).Draw(t, name)
}

// name is one that a plan takes.
func name(t *rapid.T, seen map[string]bool) string {
	for i := 0; ; i++ {
		n := text(t, "name")
		if i > 3 {
			n = fmt.Sprintf("P%d", len(seen)+i)
		}
		if n != "" && len(n) <= 40 && !seen[n] && strings.TrimSpace(n) != "" {
			seen[n] = true
			return n
		}
	}
}

func metres(t *rapid.T) float64 { return rapid.Float64Range(-400, 400).Draw(t, "m") }

func corner(t *rapid.T) events.Position { return events.Position{metres(t), metres(t)} }

func corners(t *rapid.T) []events.Position {
	return rapid.SliceOfN(rapid.Custom(corner), 0, 4).Draw(t, "corners")
}

func length(t *rapid.T) *events.Length {
	unit := rapid.SampledFrom([]levelling.Unit{levelling.Millimetre, levelling.Centimetre, levelling.Metre, levelling.Inch, levelling.Foot}).Draw(t, "unit")
	return &events.Length{Value: rapid.Float64Range(-16, 16).Draw(t, "length"), Unit: unit}
}

// plan draws any plan that passes the check of plans.
func plan(t *rapid.T) (p events.Plan) {
	seen, bearers := map[string]bool{}, map[string]bool{}
	count := func(what string) int { return rapid.IntRange(0, 4).Draw(t, what) }
	for range count("bearers") {
		b := events.Bearer{ID: name(t, bearers), WidthMM: float64(count("width")) * 50, EMPa: float64(count("e")) * 1000.5, Grade: text(t, "grade"), Condition: text(t, "condition")}
		for range count("supports") {
			s := events.Support{ID: name(t, seen), X: metres(t), Y: metres(t), Sort: text(t, "sort"), Of: text(t, "of")}
			p.Supports = append(p.Supports, s)
			b.Supports = append(b.Supports, s.ID)
		}
		if n := len(b.Supports); n > 1 {
			b.Supports = rapid.Permutation(b.Supports).Draw(t, "order")
			b.Joins = []events.Join{{At: b.Supports[0], Other: b.Supports[1], Sort: events.Butted}, {At: b.Supports[n-1], Sort: events.Scarfed}}
		}
		p.Bearers = append(p.Bearers, b)
	}
	if len(p.Supports) > 0 {
		p.Supports = rapid.Permutation(p.Supports).Draw(t, "lines")
	}
	for range count("spots") {
		p.Spots = append(p.Spots, events.Spot{ID: name(t, seen), X: metres(t), Y: metres(t)})
	}
	for range count("datums") {
		d := events.Datum{ID: name(t, seen), X: metres(t), Y: metres(t), SDMM: float64(count("sd")), StandsOn: text(t, "stands on"), OffBuilding: rapid.Bool().Draw(t, "off")}
		if rapid.Bool().Draw(t, "known") {
			d.Height = length(t)
		}
		p.Datums = append(p.Datums, d)
	}
	for range count("walls") {
		p.Walls = append(p.Walls, events.Wall{From: corner(t), To: corner(t), Roof: rapid.Bool().Draw(t, "roof"), Masonry: rapid.Bool().Draw(t, "masonry")})
	}
	for range count("rooms") {
		p.Rooms = append(p.Rooms, events.Room{Name: name(t, map[string]bool{}), Outline: corners(t), Wet: rapid.Bool().Draw(t, "wet")})
	}
	for range count("things") {
		p.Fixed = append(p.Fixed, events.Thing{Name: text(t, "fixed"), Outline: corners(t)})
		p.Hatches = append(p.Hatches, events.Thing{Name: text(t, "hatch"), Outline: corners(t)})
	}
	if rapid.Bool().Draw(t, "more") {
		p.Joists = &events.Joists{DirectionDeg: metres(t), SpacingMM: 450}
		p.Street = events.Left
		p.Loads = &events.Loads{FloorLiveKPa: 1.5, RoofM: float64(count("roof"))}
		p.Underlay = &events.Underlay{SHA256: events.Digest{1, 2}, Pixels: [2]events.Position{corner(t), corner(t)}, Metres: [2]events.Position{corner(t), corner(t)}}
	}
	return p
}

// What goes out comes in as the same plan.
func TestPlanComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := plan(t)
		if err := want.Check(); err != nil {
			t.Fatalf("the drawn plan is none: %v", err)
		}
		var file bytes.Buffer
		if err := sheet.WritePlan(&file, want); err != nil {
			t.Fatal(err)
		}
		if sheet.Same(want, events.Plan{}) {
			return // a sheet with nothing in it is refused
		}
		got := sheet.ReadPlan(file.Bytes())
		if len(got.Faults) > 0 {
			t.Fatalf("%v in\n%s", got.Faults, file.String())
		}
		if diff := cmp.Diff(want, got.Plan, cmpopts.EquateEmpty()); diff != "" || !sheet.Same(want, got.Plan) {
			t.Fatalf("%s\nin\n%s", diff, file.String())
		}
	})
}

// No cell that was text begins as a formula does.
func TestNothingWrittenIsAFormula(t *testing.T) {
	var file bytes.Buffer
	p := events.Plan{Spots: []events.Spot{{ID: "=HYPERLINK(\"x\")", X: -1, Y: 2}, {ID: "@a"}, {ID: "+1"}, {ID: "-1"}, {ID: "\t=1"}, {ID: "\r=1"}}}
	if err := sheet.WritePlan(&file, p); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`,"'=HYPERLINK(""x"")",-1,2`, ",'@a,", ",'+1,", ",'-1,", ",'\t=1,"} {
		if !strings.Contains(file.String(), want) {
			t.Errorf("%q is not in\n%s", want, file.String())
		}
	}
}

// A plan as people write it: semicolons, decimal commas, Excel's first line, its
// byte order mark, and headings of their own.
func TestPlanOfASpreadsheet(t *testing.T) {
	file := "\xef\xbb\xbfsep=;\r\nThing;ID;X (m);Y [m];Type;Bearer;Height mm;Colour\r\nsupport;B1-1;0;1,5;stump;B1;;red\r\nsupport;B1-2;1,8;1,5;;B1;;\r\n\r\ndatum;D1;-1;0;;;12,5;\r\n"
	got := sheet.ReadPlan([]byte(file))
	height := events.MM(12.5)
	want := sheet.Plan{
		Plan: events.Plan{
			Supports: []events.Support{{ID: "B1-1", Y: 1.5, Sort: "stump"}, {ID: "B1-2", X: 1.8, Y: 1.5}},
			Bearers:  []events.Bearer{{ID: "B1", Supports: []string{"B1-1", "B1-2"}}},
			Datums:   []events.Datum{{ID: "D1", X: -1, Height: &height}},
		},
		Lines: []sheet.PlanLine{
			{Line: 3, What: "support", Name: "B1-1", Says: "X (m) 0, Y [m] 1,5, Type stump, Bearer B1"},
			{Line: 4, What: "support", Name: "B1-2", Says: "X (m) 1,8, Y [m] 1,5, Bearer B1"},
			{Line: 6, What: "datum", Name: "D1", Says: "X (m) -1, Y [m] 0, Height mm 12,5"},
		},
		Ignored: []string{"Colour"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestPlanFaults(t *testing.T) {
	const head = "what,name,x m,y m,sort,bearer,along,outline m\n"
	for name, tt := range map[string]struct {
		file string
		want sheet.Fault
	}{
		"Empty":         {" \n", sheet.Fault{Cure: "the file is empty"}},
		"Workbook":      {"PK\x03\x04rest", sheet.Fault{Cure: "this is a workbook, not a CSV: save the sheet as CSV UTF-8 and choose that file"}},
		"UTF16":         {"\xff\xfew\x00", sheet.Fault{Cure: "this file is in UTF-16: save it as CSV UTF-8"}},
		"Binary":        {"what\x00", sheet.Fault{Cure: "this is no text: choose a CSV file"}},
		"Latin1":        {head + "room,K\xfcche,,,,,,\n", sheet.Fault{Cure: "line 2 has letters that are not UTF-8: save the sheet as CSV UTF-8"}},
		"Columns":       {strings.Repeat("a,", 1000), sheet.Fault{Line: 1, Cure: "1001 columns: at most 60"}},
		"NoHeading":     {"support,B1,0,0\nsupport,B2,0,0", sheet.Fault{Line: 1, Column: "what", Cure: "no column of that name: the first line has the names of the columns, what among them"}},
		"OpenQuote":     {head + "spot,\"S1,0,0\n", sheet.Fault{Line: 2, Cure: "a cell that begins with a quote never ends, or goes on behind its last quote: close it, and write each quote in it twice"}},
		"BareQuote":     {head + "spot,S\"1,0,0\n", sheet.Fault{Line: 2, Cure: `a quote in the middle of a cell: put the whole cell in quotes and write each quote in it twice, as "2"" x 4"""`}},
		"DecimalComma":  {head + "spot,S1,1,5,2,5,,,\n", sheet.Fault{Line: 2, Cure: "more cells than there are headings: put a number with a decimal comma in quotes, or semicolons between the cells"}},
		"NoNumber":      {head + "spot,S1,left,0\n", sheet.Fault{Line: 2, Column: "x m", Cure: "a number, such as 12.5 or 12,5"}},
		"Missing":       {head + "spot,S1,,0\n", sheet.Fault{Line: 2, Column: "x m", Cure: "missing: how far it lies from the corner of the drawing, in metres"}},
		"Thing":         {head + "beam,S1,0,0\n", sheet.Fault{Line: 2, Column: "what", Cure: "support, spot, datum, bearer, join, joists, wall, room, fixed, door, hatch, street, load or underlay"}},
		"Twice":         {head + "spot,S1,0,0\n\nsupport,S1,1,1\n", sheet.Fault{Line: 4, Column: "name", Cure: `"S1" stands on line 2 already: give each place its own name`}},
		"TooFar":        {head + "spot,S1,0,0\nspot,S2,0,900\n", sheet.Fault{Line: 3, Column: "y m", Cure: "between -500 and 500 m, not 900"}},
		"Along":         {head + "support,A,0,0,,B1,1\nsupport,B,1,0,,B1,1\n", sheet.Fault{Line: 3, Column: "along", Cure: `"A" stands there already: number the supports of B1 in their order`}},
		"JoinOfNothing": {head + "join,A,,,halved,B9,\n", sheet.Fault{Line: 2, Column: "bearer", Cure: `no bearer "B9" on this plan`}},
		"Outline":       {head + "room,Hall,,,,,,0 0 4 0\n", sheet.Fault{Line: 2, Column: "outline m", Cure: "corners as x y in metres with a semicolon between them, such as 0 0; 4.2 0; 4.2 3"}},
	} {
		t.Run(name, func(t *testing.T) {
			got := sheet.ReadPlan([]byte(tt.file))
			if diff := cmp.Diff([]sheet.Fault{tt.want}, got.Faults); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestTooLargeIsOneFault(t *testing.T) {
	got := sheet.ReadPlan(bytes.Repeat([]byte("x"), sheet.MaxBytes+1))
	if len(got.Faults) != 1 || !strings.Contains(got.Faults[0].Cure, "2 MiB") {
		t.Errorf("%v", got.Faults)
	}
	many := sheet.ReadPlan([]byte("what,name\n" + strings.Repeat("spot,S\n", sheet.MaxRows)))
	if n := len(many.Faults); n != 201 {
		t.Errorf("%d faults are told, want 200 and how many more", n)
	}
}

func FuzzReadPlan(f *testing.F) {
	f.Add([]byte("what,name,x m,y m\nspot,S1,0,\"1,5\"\n"))
	f.Add([]byte("sep=;\nwhat;outline m\nwall;0 0; 1 1\n"))
	f.Add([]byte("what,name,sort,bearer,along\nsupport,A,,B1,2\njoin,A,halved,B1,\n"))
	f.Fuzz(func(t *testing.T, file []byte) {
		got := sheet.ReadPlan(file)
		if len(got.Faults) > 0 {
			return
		}
		if err := got.Plan.Check(); err != nil {
			t.Errorf("%q has no fault and is no plan: %v", file, err)
		}
		var again bytes.Buffer
		if err := sheet.WritePlan(&again, got.Plan); err != nil {
			t.Fatal(err)
		}
		if back := sheet.ReadPlan(again.Bytes()); len(back.Faults) > 0 && !sheet.Same(got.Plan, events.Plan{}) {
			t.Errorf("%v in %q", back.Faults, again.String())
		}
	})
}

var sydney = func() *time.Location {
	zone, err := time.LoadLocation("Australia/Sydney")
	if err != nil {
		panic(err)
	}
	return zone
}()
