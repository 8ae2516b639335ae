package calc

import "testing"

func TestLoads(t *testing.T) {
	const caution = `,"caution":"` + loadsCaution + `"}`
	tests := []struct{ name, in, want string }{
		{
			"FloorAndWall", loads.example,
			`{"dead_kn":3.8225,"live_kn":6,"design_kn":9.8225,"jack_kn":5.1025`,
		},
		{
			"Roof", `{"floor":{"area_m2":2,"dead_kpa":0.5,"live_kpa":1.5},"roof":{"area_m2":3,"dead_kpa":0.4,"live_kpa":0.25},"jack_live_kpa":0}`,
			`{"dead_kn":2.2,"live_kn":3.75,"design_kn":5.95,"jack_kn":2.2`,
		},
		{
			"FloorAlone", `{"floor":{"area_m2":3,"dead_kpa":0.5,"live_kpa":1.5},"roof":null,"walls":[]}`,
			`{"dead_kn":1.5,"live_kn":4.5,"design_kn":6,"jack_kn":2.7`,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantText(t, "loads", tt.in, tt.want+caution) })
	}
}

func TestLoadsBadInput(t *testing.T) {
	const floor = `"floor":{"area_m2":3,"dead_kpa":0.5,"live_kpa":1.5}`
	tests := []struct{ in, field string }{
		{`{}`, "floor"},
		{`{"floor":{"area_m2":3,"dead_kpa":0.5}}`, "floor.live_kpa"},
		{`{"floor":{"area_m2":-3,"dead_kpa":0.5,"live_kpa":1.5}}`, "floor.area_m2"},
		{`{` + floor + `,"roof":{"area_m2":3,"dead_kpa":-1,"live_kpa":0}}`, "roof.dead_kpa"},
		{`{` + floor + `,"roof":{"area_m2":3,"dead_kpa":1}}`, "roof.live_kpa"},
		{`{` + floor + `,"walls":[{"run_m":1,"height_m":2,"dead_kpa":1},{"run_m":1,"height_m":-2,"dead_kpa":1}]}`, "walls[1].height_m"},
		{`{` + floor + `,"walls":[{"run_m":1,"height_m":2,"live_kpa":1}]}`, "walls[0].live_kpa"},
		{`{` + floor + `,"continuity":0}`, "continuity"},
		{`{` + floor + `,"jack_live_kpa":-0.4}`, "jack_live_kpa"},
		{`{"floor":{"area_m2":1e200,"dead_kpa":1e200,"live_kpa":1.5}}`, "input"},
	}
	for _, tt := range tests {
		wantBad(t, "loads", tt.in, tt.field)
	}
}
