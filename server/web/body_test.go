package web

import (
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
	"relevel/jobs"
)

const anID = "0190f3c1-0000-7000-8000-000000000001"

func floor() Sources {
	return Sources{Picture: jobs.Picture{
		Supports: []jobs.Support{{ID: "B1-1"}, {ID: "B1-2"}},
		Datums:   []jobs.Datum{{ID: "D1"}},
	}}
}

func TestBodies(t *testing.T) {
	tests := []struct {
		name  string
		kind  events.Kind
		in    url.Values
		want  []string
		wrong Wrong
	}{
		{"OK", events.KindJackDown, url.Values{"support": {"B1-1"}}, []string{`{"support":"B1-1"}`}, nil},
		{"Missing", events.KindJackDown, url.Values{}, nil, Wrong{"support": "missing"}},
		{"Unit", events.KindGapReading, url.Values{"gap": {"hall"}, "what": {"crack"}, "width": {"3/16"}, "unit": {"in"}},
			[]string{`{"gap":"hall","what":"crack","width":{"value":0.1875,"unit":"in"}}`}, nil},
		{"NoNumber", events.KindGapReading, url.Values{"gap": {"hall"}, "what": {"crack"}, "width": {"wide"}}, nil, Wrong{"width": "a number, such as 12.5"}},
		{"Nested", events.KindAim, url.Values{"aim": {"highest"}, "tolerance.within_mm": {"3"}, "agreed_by": {"Jo"}},
			[]string{`{"agreed_by":"Jo","aim":"highest","tolerance":{"within_mm":3}}`}, nil},
		{"OwnLimits", events.KindAim, url.Values{"aim": {"least"}, "agreed_by": {"Jo"}, "caps": {"B1-3 5, hall floor 2,5"}, "tolerance.within_mm": {"3"},
			"tolerance.limits[0].limit_mm": {"6"}, "tolerance.limits[0].kind": {"pair"}, "tolerance.limits[0].over_m": {"2"}, "tolerance.limits[0].rule": {"flat"},
			"tolerance.limits[1].limit_mm": {""}, "tolerance.limits[1].kind": {"range"}, "tolerance.limits[1].rule": {"flat"}}, nil,
			Wrong{"caps": "supports each with its mm, such as B1-3 5, B1-4 8; write 2.5 with a point"}},
		{"Caps", events.KindAim, url.Values{"aim": {"least"}, "agreed_by": {"Jo"}, "caps": {"B1-3 5, B1-4 2.5"},
			"tolerance.limits[2].limit_mm": {"12"}, "tolerance.limits[2].kind": {"range"}, "tolerance.limits[2].rule": {"flat"}},
			[]string{`{"agreed_by":"Jo","aim":"least","caps":[{"support":"B1-3","mm":5},{"support":"B1-4","mm":2.5}],"tolerance":{"limits":[{"kind":"range","limit_mm":12,"rule":"flat"}]}}`}, nil},
		{"LimitBelowTheMargin", events.KindAim, url.Values{"aim": {"least"}, "agreed_by": {"Jo"}, "margin_mm": {"7"},
			"tolerance.limits[1].limit_mm": {"6"}, "tolerance.limits[1].kind": {"range"}, "tolerance.limits[1].rule": {"flat"}}, nil,
			Wrong{"tolerance.limits[1].limit_mm": "a limit in mm above the margin of 7 that comes off it"}},
		{"LeastWithoutLimits", events.KindAim, url.Values{"aim": {"least"}, "agreed_by": {"Jo"}}, nil,
			Wrong{"tolerance.profile": "missing: the least lift needs limits, of a profile or of your own"}},
		{"Rows", events.KindSetup, url.Values{"instrument": {"laser"}, "datums[0]": {"D1"}, "datums[0].staff": {"1200"}},
			[]string{`{"datums":[{"datum":"D1","staff":1200}],"instrument":"laser"}`}, nil},
		{"EachRow", events.KindReading, url.Values{"setup": {anID}, "face": {"bearer"}, "rows[0]": {"B1-1"}, "rows[0].staff": {"-900"}, "rows[1]": {"B1-2"}, "rows[1].not_read": {"water"}},
			[]string{`{"face":"bearer","point":"B1-1","setup":"` + anID + `","staff":-900}`, `{"face":"bearer","not_read":"water","point":"B1-2","setup":"` + anID + `"}`}, nil},
		{"NoRow", events.KindReading, url.Values{"setup": {anID}, "face": {"bearer"}, "rows[0]": {"B1-1"}}, nil, Wrong{"rows[0].staff": "missing: fill in at least one row"}},
		{"RowTooLong", events.KindReading, url.Values{"setup": {anID}, "face": {"bearer"}, "rows[0]": {"B1-1"}, "rows[1]": {"B1-2"}, "rows[1].staff": {"9000"}}, nil,
			Wrong{"rows[1].staff": "between -5000 and 5000 mm of staff, not 9000"}},
		{"RowOfList", events.KindJacking, url.Values{"moves[0]": {"B1-1"}, "moves[0].gauge": {"rule"}, "moves[1]": {"B1-2"}, "moves[1].by": {"5000"}, "moves[1].gauge": {"rule"}}, nil,
			Wrong{"moves[1].by": "between -300 and 300 mm in one move, not 5000"}},
		{"Plan", events.KindPlan, url.Values{"document": {`{"supports":[{"id":"A","x":0,"y":0},{"id":"A","x":1,"y":0}]}`}}, nil,
			Wrong{"document": `supports[1].id: "A" stands twice on the plan: give each place its own name`}},
		{"UpsideDown", events.KindReading, url.Values{"setup": {anID}, "face": {"bearer"}, "upside-down": {"yes"}, "rows[0]": {"B1-1"}, "rows[0].staff": {"900"}, "rows[1]": {"B1-2"}, "rows[1].staff": {"-910"}},
			[]string{`{"face":"bearer","point":"B1-1","setup":"` + anID + `","staff":-900}`, `{"face":"bearer","point":"B1-2","setup":"` + anID + `","staff":-910}`}, nil},
		{"OfferedAgainIsNotFilled", events.KindJacking, url.Values{"moves[0]": {"B1-1"}, "moves[0].by": {"6"}, "moves[0].gauge": {"rule"}, "moves[0].jack": {"J3"}, "moves[1]": {"B1-2"}, "moves[1].gauge": {"rule"}, "moves[1].jack": {"J3"}},
			[]string{`{"moves":[{"by":6,"gauge":"rule","jack":"J3","support":"B1-1"}]}`}, nil},
		{"Outline", events.KindFloorCut, url.Values{"cut": {"hall"}, "where": {"hall"}, "outline": {"0 0.5 1,2 1.5"}},
			[]string{`{"cut":"hall","outline":[[0,0.5],[1.2,0.5],[1.2,1.5],[0,1.5]],"where":"hall"}`}, nil},
		{"OutlineShort", events.KindFloorCut, url.Values{"cut": {"hall"}, "where": {"hall"}, "outline": {"0 1"}}, nil,
			Wrong{"outline": "four numbers with spaces, such as 1.2 0.4 1.8 1.6"}},
		{"TwoPeg", events.KindInstrumentCheck, url.Values{"sort": {"two-peg"}, "instrument": {"laser"}, "mid.a": {"1000"}, "mid.b": {"1100"}, "off.a": {"1002"}, "off.b": {"1100.2"}, "off.to_a_m": {"33"}, "off.to_b_m": {"3"}, "good_until": {"2026-06-01"}},
			[]string{`{"good_until":"2026-06-01","instrument":"laser","mid":{"a":1000,"b":1100},"off":{"a":1002,"b":1100.2,"to_a_m":33,"to_b_m":3},"sort":"two-peg"}`}, nil},
		{"HalfTurn", events.KindInstrumentCheck, url.Values{"sort": {"half-turn"}, "instrument": {"laser"}, "distance_m": {"30"}, "difference": {"1/8"}, "unit": {"in"}, "on": {"2026-02-01"}},
			[]string{`{"difference":{"value":0.125,"unit":"in"},"distance_m":30,"instrument":"laser","on":"2026-02-01","sort":"half-turn"}`}, nil},
		{"PegMissing", events.KindInstrumentCheck, url.Values{"sort": {"two-peg"}, "instrument": {"laser"}, "mid.a": {"1000"}, "mid.b": {"1100"}, "off.a": {"1002"}, "off.to_a_m": {"33"}, "off.to_b_m": {"3"}}, nil,
			Wrong{"off.b": "missing"}},
		{"EqualSights", events.KindInstrumentCheck, url.Values{"sort": {"two-peg"}, "instrument": {"laser"}, "mid.a": {"1000"}, "mid.b": {"1100"}, "off.a": {"1002"}, "off.b": {"1100"}, "off.to_a_m": {"15"}, "off.to_b_m": {"15"}}, nil,
			Wrong{"off.to_b_m": "at least 2 m more or less than to peg A: equal sights show no error"}},
		{"Stand", events.KindSetup, url.Values{"instrument": {"laser"}, "stand": {"3,1 2.2"}, "sd_mm_per_m": {"0.05"}, "datums[0]": {"D1"}, "datums[0].staff": {"1200"}},
			[]string{`{"datums":[{"datum":"D1","staff":1200}],"instrument":"laser","sd_mm_per_m":0.05,"stand":[3.1,2.2]}`}, nil},
		{"StandShort", events.KindSetup, url.Values{"instrument": {"laser"}, "stand": {"3.1"}, "datums[0]": {"D1"}, "datums[0].staff": {"1200"}}, nil,
			Wrong{"stand": "two numbers with a space, such as 3.1 2.2"}},
		{"Lines", events.KindDayEnd, url.Values{"left": {"B1-1 on a jack\r\n\nbath waste, back wall tie not back\n"}, "out": {"yes"}}, []string{`{"left":["B1-1 on a jack","bath waste, back wall tie not back"],"out":true}`}, nil},
		{"Points", events.KindNote, url.Values{"text": {"damp"}, "supports": {"B1-1", "B1-2"}}, []string{`{"supports":["B1-1","B1-2"],"text":"damp"}`}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			form, ok := FormOf(tt.kind)
			if !ok {
				t.Fatalf("no form for %s", tt.kind)
			}
			bodies, wrong := form.Bodies(tt.in, floor())
			var got []string
			for _, b := range bodies {
				got = append(got, string(b.JSON))
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("bodies (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tt.wrong, wrong); diff != "" {
				t.Errorf("wrong (-want +got):\n%s", diff)
			}
		})
	}
}

// Every kind there is can be recorded on a page.
func TestFormsCoverKinds(t *testing.T) {
	recorded := slices.DeleteFunc(events.Kinds(), events.Kind.OfCommand)
	for _, k := range recorded {
		if _, ok := FormOf(k); !ok {
			t.Errorf("no form records %s", k)
		}
	}
	if len(Forms) != len(recorded) {
		t.Errorf("%d forms for %d kinds", len(Forms), len(recorded))
	}
}

func TestMeasure(t *testing.T) {
	for in, want := range map[string]float64{"12": 12, "12,5": 12.5, "-3": -3, "−3": -3, "1 1/2": 1.5, "3/16": 0.1875, "-1 1/2": -1.5} {
		if got, err := Measure(in); err != nil || got != want {
			t.Errorf("Measure(%q) = %g, %v, want %g", in, got, err, want)
		}
	}
	for _, in := range []string{"", "x", "1/0", "1/x", "NaN", "Inf", "1e999"} {
		if got, err := Measure(in); err == nil {
			t.Errorf("Measure(%q) = %g, want an error", in, got)
		}
	}
}

// Wherever supports are chosen, those of the floor are there to choose from.
func TestEveryChoiceOffersSomething(t *testing.T) {
	page := RecordPage{Sources: floor()}
	for _, f := range Forms {
		for _, field := range f.Fields {
			if got := page.Show(field, field.Name); field.Input == Points && len(got.Options) != 2 {
				t.Errorf("%s: %q offers %v, want both supports", f.Kind, field.Name, got.Options)
			}
		}
	}
}

// What is about one support asks for no other, and shows what is seldom filled
// in only when it has to be looked at.
func TestRecordPageAboutOneSupport(t *testing.T) {
	form, _ := FormOf(events.KindReading)
	sources := floor()
	sources.Support = "B1-2"
	sources.Picture.Plan.Bearers = []events.Bearer{{ID: "B1", Supports: []string{"B1-1", "B1-2"}}}
	page := RecordPage{Form: form, Sources: sources, Values: url.Values{}}
	if near, far := page.Near(), page.Far(); len(near) != 1 || near[0].Value != "B1-2" || len(far) != 1 || far[0].Value != "B1-1" {
		t.Errorf("near %v, far %v", near, far)
	}
	if page.FarOpen() || page.MoreOpen() {
		t.Error("what is folded away stands open")
	}
	page.Wrong = Wrong{"rows[1].staff": "a number", "surface": "shorter"}
	if !page.FarOpen() || !page.MoreOpen() {
		t.Error("what is wrong is folded away")
	}
}

// A length takes its unit behind the figure, whatever the form is in.
func TestLengthWithUnit(t *testing.T) {
	for in, want := range map[string]string{
		"12": `{"value":12,"unit":"in"}`, "12 mm": `12`, "1.2cm": `{"value":1.2,"unit":"cm"}`, "1 3/16 in": `{"value":1.1875,"unit":"in"}`,
		"1 3⁄16″": `{"value":1.1875,"unit":"in"}`, `1/4"`: `{"value":0.25,"unit":"in"}`, "0.21 ft": `{"value":0.21,"unit":"ft"}`, "0.3 m": `{"value":0.3,"unit":"m"}`,
	} {
		form, _ := FormOf(events.KindGapReading)
		bodies, wrong := form.Bodies(url.Values{"gap": {"G1"}, "what": {"door"}, "width": {in}, "unit": {"in"}}, Sources{})
		if len(wrong) > 0 {
			t.Errorf("%q: %v", in, wrong)
		} else if !strings.Contains(string(bodies[0].JSON), `"width":`+want) {
			t.Errorf("%q: %s, want %s", in, bodies[0].JSON, want)
		}
	}
}

// What is held in millimetres takes other units behind the figure.
func TestMillimetresOf(t *testing.T) {
	for in, want := range map[string]float64{"6": 6, "6,5": 6.5, "6 mm": 6, "1/4 in": 6.35, "1/4\"": 6.35, "0.02 ft": 6.096, "-1/16″": -1.5875} {
		if got, err := mmOf(in); err != nil || got != want {
			t.Errorf("%q is %v, %v; want %v", in, got, err, want)
		}
	}
	for _, in := range []string{"", "mm", "six", "1/0 in"} {
		if got, err := mmOf(in); err == nil {
			t.Errorf("%q is %v, want it refused", in, got)
		}
	}
}
