package calc

import (
	"encoding/json"
	"math"
	"testing"
)

// Three supports in a row: step, limits and sums hold.
func TestRounds(t *testing.T) {
	out, err := Run("rounds", []byte(`{"supports":[{"id":"A","x_m":0,"y_m":0,"lift_mm":10.0004},{"id":"B","x_m":1.5,"y_m":0,"lift_mm":10},
		{"id":"C","x_m":3,"y_m":0,"lift_mm":-2}],"neighbours":[["A","B"],["B","C"]],"step_mm":4,"limit":{"ratio":500}}`))
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Rounds []struct {
			Moves []struct {
				ID    string  `json:"id"`
				By    float64 `json:"by_mm"`
				SoFar float64 `json:"so_far_mm"`
			} `json:"moves"`
		} `json:"rounds"`
		Count   int    `json:"count"`
		Caution string `json:"caution"`
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	at := map[string]float64{}
	for _, r := range got.Rounds {
		for _, m := range r.Moves {
			if math.Abs(m.By) > 4 || math.Abs(at[m.ID]+m.By-m.SoFar) > 1e-9 {
				t.Errorf("%+v after %g", m, at[m.ID])
			}
			at[m.ID] = m.SoFar
			if off := math.Abs(at["A"] - at["B"]); off > 3+1e-9 {
				t.Errorf("A and B differ by %g, 1.5 m over 500 is 3", off)
			}
		}
	}
	if at["A"] != 10 || at["B"] != 10 || at["C"] != -2 || got.Count != len(got.Rounds) || got.Count != 3 || got.Caution == "" {
		t.Errorf("ends at %v after %d rounds", at, got.Count)
	}
}

func TestRoundsNothingToDo(t *testing.T) {
	got := answer(t, "rounds", `{"supports":[{"id":"A","x_m":0,"y_m":0,"lift_mm":0}],"neighbours":[],"step_mm":3,"limit":{"mm":2}}`)
	if list, ok := got["rounds"].([]any); !ok || len(list) != 0 || got["count"] != 0.0 {
		t.Errorf("%v", got)
	}
}

// A step longer than any lift is no bound: one move each.
func TestRoundsLongStep(t *testing.T) {
	for _, step := range []string{"1e9", "1e10", "1e308"} {
		got := answer(t, "rounds", `{"supports":[{"id":"A","x_m":0,"y_m":0,"lift_mm":10}],"neighbours":[],"step_mm":`+step+`,"limit":{"mm":2}}`)
		if got["count"] != 1.0 {
			t.Errorf("step %s: %v", step, got)
		}
	}
}

func TestRoundsBad(t *testing.T) {
	const a = `{"id":"A","x_m":0,"y_m":0,"lift_mm":5}`
	const b = `{"id":"B","x_m":0,"y_m":0,"lift_mm":5}`
	for in, field := range map[string]string{
		`{"supports":[],"neighbours":[],"step_mm":3,"limit":{"mm":2}}`:                                           "supports",
		`{"supports":[` + a + `],"step_mm":3,"limit":{"mm":2}}`:                                                  "neighbours",
		`{"supports":[` + a + `,` + a + `],"neighbours":[],"step_mm":3,"limit":{"mm":2}}`:                        "supports[1].id",
		`{"supports":[` + a + `],"neighbours":[["A","C"]],"step_mm":3,"limit":{"mm":2}}`:                         "neighbours[0]",
		`{"supports":[` + a + `],"neighbours":[["A","A"]],"step_mm":3,"limit":{"mm":2}}`:                         "neighbours[0]",
		`{"supports":[` + a + `],"neighbours":[],"step_mm":0,"limit":{"mm":2}}`:                                  "step_mm",
		`{"supports":[` + a + `],"neighbours":[],"step_mm":3,"limit":{"mm":0}}`:                                  "limit.mm",
		`{"supports":[` + a + `],"neighbours":[],"step_mm":3,"limit":{"ratio":-1}}`:                              "limit.ratio",
		`{"supports":[` + a + `],"neighbours":[],"step_mm":3,"limit":{}}`:                                        "limit.mm",
		`{"supports":[` + a + `],"neighbours":[],"step_mm":3,"limit":{"mm":2,"ratio":3}}`:                        "limit.mm",
		`{"supports":[` + a + `],"neighbours":[],"step_mm":3}`:                                                   "limit",
		`{"supports":[` + a + `,` + b + `],"neighbours":[["A","B"]],"step_mm":3,"limit":{"ratio":500}}`:          "limit",
		`{"supports":[{"id":"A","x_m":0,"y_m":0,"lift_mm":1e300}],"neighbours":[],"step_mm":3,"limit":{"mm":2}}`: "supports[0].lift_mm",
	} {
		wantBad(t, "rounds", in, field)
	}
}
