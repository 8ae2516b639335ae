package calc

import (
	"encoding/json"
	"testing"
)

// The figures themselves are tested where they are reckoned; here their names,
// their rounding and what is left out.
func TestUnderFloor(t *testing.T) {
	for _, tt := range []struct{ name, in, want string }{
		{"packer", `{"gap_mm":18,"bedding_mm":2,"stock_mm":[25,18,12,6,3],"max_pieces":2,"within_mm":1}`,
			`{"need_mm":20,"how":"stack","pieces_mm":[18,3],"sum_mm":21,"over_mm":1}`},
		{"packer", `{"gap_mm":40,"stock_mm":[],"max_pieces":2,"within_mm":1}`, `{"need_mm":40,"how":"cut","pieces_mm":[40],"sum_mm":40,"over_mm":0}`},
		{"packer", `{"gap_mm":22.5,"stock_mm":[50,25],"max_pieces":2,"within_mm":0}`, `{"need_mm":22.5,"how":"cut","pieces_mm":[22.5],"sum_mm":22.5,"over_mm":0,"cut_from_mm":25}`},
		{"shrink", `{"thickness_mm":50,"species":"douglas-fir","grain":"radial","from_pct":19,"to_pct":12}`, `{"loss_mm":0.56}`},
		{"loads", `{"floor":{"area_m2":3.2,"dead_kpa":0.5,"live_kpa":1.5},"walls":[{"run_m":1.8,"height_m":2.7,"dead_kpa":0.3}],"continuity":1.25}`,
			`{"dead_kn":3.8225,"live_kn":6,"design_kn":9.8225,"jack_kn":5.1025}`},
		{"loads", `{"floor":{"area_m2":2,"dead_kpa":0.5,"live_kpa":1.5},"roof":{"area_m2":3,"dead_kpa":0.4,"live_kpa":0.25},"jack_live_kpa":0}`,
			`{"dead_kn":2.2,"live_kn":3.75,"design_kn":5.95,"jack_kn":2.2}`},
		{"pad", `{"load_kn":12,"soil_kpa":100}`, `{"area_m2":0.12,"square_mm":346.41,"diameter_mm":390.882}`},
		{"pad", `{"load_kn":12,"soil_kpa":100,"thickness_mm":300,"concrete_kn_m3":24}`, `{"area_m2":0.12931,"square_mm":359.597,"diameter_mm":405.762,"volume_m3":0.038793}`},
		{"vents", `{"rule":"uk-c","wall_m":30,"floor_m2":50}`, `{"required_mm2":45000}`},
		{"vents", `{"rule":"irc","wall_m":30,"floor_m2":50,"vents_mm2":[]}`, `{"required_mm2":333333.333,"provided_mm2":0,"short_mm2":333333.333}`},
		{"vents", `{"rule":"ncc-2022","zone":"C","sealed":true,"wall_m":30,"floor_m2":50,"vents_mm2":[100000]}`, `{"required_mm2":90000,"provided_mm2":100000,"short_mm2":0}`},
		{"jack", `{"bore_mm":50,"pressure_mpa":20}`, `{"force_kn":39.2699,"low_kn":35.3429,"high_kn":43.1969}`},
		{"jack", `{"bore_mm":50,"pressure_mpa":20,"rated_kn":49}`, `{"force_kn":39.2699,"low_kn":35.3429,"high_kn":43.1969,"over_rating":false}`},
	} {
		got := answer(t, tt.name, tt.in)
		for _, words := range []string{"caution", "source"} {
			if v, has := got[words]; has && v == "" {
				t.Errorf("%s: empty %s", tt.name, words)
			}
			delete(got, words)
		}
		raw, err := json.Marshal(got)
		if err != nil {
			t.Fatal(err)
		}
		var want map[string]any
		if err := json.Unmarshal([]byte(tt.want), &want); err != nil {
			t.Fatal(err)
		}
		wanted, err := json.Marshal(want)
		if err != nil {
			t.Fatal(err)
		}
		if string(raw) != string(wanted) {
			t.Errorf("%s %s:\n got %s\nwant %s", tt.name, tt.in, raw, wanted)
		}
	}
}

// What could hurt somebody carries a caution, what rests on a rule its source.
func TestUnderFloorWords(t *testing.T) {
	for name, words := range map[string]string{"packer": "caution", "loads": "caution", "pad": "caution", "jack": "caution", "rounds": "caution",
		"bearer": "caution", "cut": "caution", "vents": "source", "shrink": "source", "crack": "source"} {
		for _, c := range calculators {
			if c.name == name && answer(t, name, c.example)[words] == nil {
				t.Errorf("%s has no %s", name, words)
			}
		}
	}
}

func TestUnderFloorBad(t *testing.T) {
	for _, tt := range []struct{ name, in, field string }{
		{"packer", `{"gap_mm":-1,"stock_mm":[6],"max_pieces":1,"within_mm":1}`, "gap_mm"},
		{"packer", `{"gap_mm":5,"stock_mm":[6,-1],"max_pieces":1,"within_mm":1}`, "stock_mm[1]"},
		{"packer", `{"gap_mm":5,"stock_mm":[6],"max_pieces":1.5,"within_mm":1}`, "max_pieces"},
		{"packer", `{"gap_mm":5,"stock_mm":[6],"max_pieces":0,"within_mm":1}`, "max_pieces"},
		{"packer", `{"gap_mm":5,"max_pieces":1,"within_mm":1}`, "stock_mm"},
		{"packer", `{"gap_mm":5,"stock_mm":[6],"max_pieces":1,"within_mm":-1}`, "within_mm"},
		{"shrink", `{"thickness_mm":0,"species":"red-oak","grain":"radial","from_pct":19,"to_pct":12}`, "thickness_mm"},
		{"shrink", `{"thickness_mm":5,"species":"balsa","grain":"radial","from_pct":19,"to_pct":12}`, "species"},
		{"shrink", `{"thickness_mm":5,"species":"red-oak","grain":"end","from_pct":19,"to_pct":12}`, "grain"},
		{"shrink", `{"thickness_mm":5,"species":"red-oak","grain":"radial","from_pct":-1,"to_pct":12}`, "from_pct"},
		{"shrink", `{"thickness_mm":1e308,"species":"red-oak","grain":"radial","from_pct":19}`, "to_pct"},
		{"loads", `{}`, "floor"},
		{"loads", `{"floor":{"area_m2":-3,"dead_kpa":0.5,"live_kpa":1.5}}`, "floor.area_m2"},
		{"loads", `{"floor":{"area_m2":3,"dead_kpa":0.5,"live_kpa":1.5},"roof":{"area_m2":3,"dead_kpa":-1,"live_kpa":0}}`, "roof.dead_kpa"},
		{"loads", `{"floor":{"area_m2":3,"dead_kpa":0.5,"live_kpa":1.5},"walls":[{"run_m":1,"height_m":-2,"dead_kpa":1}]}`, "walls[0].height_m"},
		{"loads", `{"floor":{"area_m2":3,"dead_kpa":0.5,"live_kpa":1.5},"continuity":0}`, "continuity"},
		{"loads", `{"floor":{"area_m2":1e200,"dead_kpa":1e200,"live_kpa":1.5}}`, "input"},
		{"pad", `{"load_kn":0,"soil_kpa":100}`, "load_kn"},
		{"pad", `{"load_kn":12,"soil_kpa":0}`, "soil_kpa"},
		{"pad", `{"load_kn":12,"soil_kpa":100,"thickness_mm":5000,"concrete_kn_m3":24}`, "thickness_mm"},
		{"pad", `{"load_kn":12,"soil_kpa":100,"concrete_kn_m3":-24}`, "concrete_kn_m3"},
		{"pad", `{"load_kn":1e300,"soil_kpa":1e-300}`, "input"},
		{"vents", `{"rule":"mine","wall_m":30,"floor_m2":50}`, "rule"},
		{"vents", `{"rule":"ncc-2022","wall_m":30,"floor_m2":50}`, "zone"},
		{"vents", `{"rule":"ncc-2022","zone":"D","wall_m":30,"floor_m2":50}`, "zone"},
		{"vents", `{"rule":"irc","wall_m":-30,"floor_m2":50}`, "wall_m"},
		{"vents", `{"rule":"irc","wall_m":30,"floor_m2":50,"vents_mm2":[1,-1]}`, "vents_mm2[1]"},
		{"vents", `{"rule":"irc","wall_m":30,"floor_m2":1e308}`, "input"},
		{"jack", `{"bore_mm":0,"pressure_mpa":20}`, "bore_mm"},
		{"jack", `{"bore_mm":50,"pressure_mpa":-1}`, "pressure_mpa"},
		{"jack", `{"bore_mm":50,"pressure_mpa":1,"rated_kn":0}`, "rated_kn"},
		{"jack", `{"bore_mm":1e200,"pressure_mpa":1e200}`, "input"},
	} {
		wantBad(t, tt.name, tt.in, tt.field)
	}
}
