package calc

import (
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/levelling"
)

// readLimits takes the limits of an input, as a calculator does.
func readLimits(in string) ([]levelling.Limit, error) {
	root, err := parse([]byte(in))
	if err != nil {
		return nil, err
	}
	list := limits(root.objectsIf("limits", "what points may differ by"))
	return list, root.finish()
}

func TestLimits(t *testing.T) {
	got, err := readLimits(`{"limits":[{"kind":"pair","over_m":2,"limit_mm":4,"rule":"flat"},
		{"kind":"pair","over_m":6,"limit_mm":18,"rule":"proportional"},
		{"kind":"pair","over_m":10,"rule":"bands","table":[[1,3],[4,9]]},
		{"kind":"pair","over_m":10,"rule":"linear","table":[[1,3],[4,9]]},
		{"kind":"range","limit_mm":10}]}`)
	table := []levelling.LimitRow{{Metres: 1, MM: 3}, {Metres: 4, MM: 9}}
	want := []levelling.Limit{
		{Kind: levelling.PairLimit, OverM: 2, MM: 4, Rule: levelling.Flat},
		{Kind: levelling.PairLimit, OverM: 6, MM: 18, Rule: levelling.Proportional},
		{Kind: levelling.PairLimit, OverM: 10, Rule: levelling.Bands, Table: table},
		{Kind: levelling.PairLimit, OverM: 10, Rule: levelling.Linear, Table: table},
		{Kind: levelling.RangeLimit, MM: 10},
	}
	if diff := cmp.Diff(want, got); err != nil || diff != "" {
		t.Errorf("%v; limits (-want +got):\n%s", err, diff)
	}
	for _, none := range []string{`{}`, `{"limits":null}`, `{"limits":[]}`} {
		if got, err := readLimits(none); len(got) != 0 || err != nil {
			t.Errorf("%s: got %v, %v", none, got, err)
		}
	}
}

func TestLimitsBadShape(t *testing.T) {
	tests := []struct{ in, field string }{
		{`{}`, "limits"},
		{`[1]`, "limits[0]"},
		{`[{"limit_mm":4}]`, "limits[0].kind"},
		{`[{"kind":"floor","limit_mm":4}]`, "limits[0].kind"},
		{`[{"kind":"range"}]`, "limits[0].limit_mm"},
		{`[{"kind":"range","limit_mm":4,"over_m":2}]`, "limits[0].over_m"},
		{`[{"kind":"pair","limit_mm":4,"rule":"flat"}]`, "limits[0].over_m"},
		{`[{"kind":"pair","over_m":2,"limit_mm":4}]`, "limits[0].rule"},
		{`[{"kind":"pair","over_m":2,"limit_mm":4,"rule":"steps"}]`, "limits[0].rule"},
		{`[{"kind":"pair","over_m":2,"rule":"flat"}]`, "limits[0].limit_mm"},
		{`[{"kind":"pair","over_m":2,"limit_mm":4,"rule":"flat","table":[[1,2]]}]`, "limits[0].table"},
		{`[{"kind":"pair","over_m":2,"rule":"bands"}]`, "limits[0].table"},
		{`[{"kind":"pair","over_m":2,"limit_mm":4,"rule":"linear","table":[[1,2]]}]`, "limits[0].limit_mm"},
		{`[{"kind":"pair","over_m":2,"rule":"bands","table":{}}]`, "limits[0].table"},
		{`[{"kind":"pair","over_m":2,"rule":"bands","table":[1,2]}]`, "limits[0].table[0]"},
		{`[{"kind":"pair","over_m":2,"rule":"bands","table":[[1,2],[1,2,3]]}]`, "limits[0].table[1]"},
		{`[{"kind":"pair","over_m":2,"rule":"bands","table":[[1,"2"]]}]`, "limits[0].table[0]"},
	}
	for _, tt := range tests {
		_, err := readLimits(`{"limits":` + tt.in + `}`)
		bad, ok := errors.AsType[*levelling.InputError](err)
		if !ok || bad.Field != tt.field {
			t.Errorf("%s: got %v, want an error on %s", tt.in, err, tt.field)
		}
	}
}
