package calc

import "testing"

// A = P/q, computed: 12 kN and 8 kN at 100 kPa.
func TestPad(t *testing.T) {
	const caution = `,"caution":"` + padCaution + `"}`
	tests := []struct{ name, in, want string }{
		{"Area", `{"load_kn":12,"soil_kpa":100}`, `{"area_m2":0.12,"square_mm":346.41,"diameter_mm":390.882`},
		{"Smaller", `{"load_kn":8,"soil_kpa":100}`, `{"area_m2":0.08,"square_mm":282.843,"diameter_mm":319.154`},
		{
			"OwnWeight", `{"load_kn":12,"soil_kpa":100,"thickness_mm":300,"concrete_kn_m3":24}`,
			`{"area_m2":0.12931,"square_mm":359.597,"diameter_mm":405.762,"volume_m3":0.038793`,
		},
		{
			"Thickness", `{"load_kn":12,"soil_kpa":100,"thickness_mm":300}`,
			`{"area_m2":0.12,"square_mm":346.41,"diameter_mm":390.882,"volume_m3":0.036`,
		},
		{"Weight", `{"load_kn":12,"soil_kpa":100,"concrete_kn_m3":24}`, `{"area_m2":0.12,"square_mm":346.41,"diameter_mm":390.882`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantText(t, "pad", tt.in, tt.want+caution) })
	}
}

func TestPadBadInput(t *testing.T) {
	tests := []struct{ in, field string }{
		{`{"soil_kpa":100}`, "load_kn"},
		{`{"load_kn":0,"soil_kpa":100}`, "load_kn"},
		{`{"load_kn":12}`, "soil_kpa"},
		{`{"load_kn":12,"soil_kpa":0}`, "soil_kpa"},
		{`{"load_kn":12,"soil_kpa":100,"thickness_mm":0}`, "thickness_mm"},
		{`{"load_kn":12,"soil_kpa":100,"thickness_mm":5000,"concrete_kn_m3":24}`, "thickness_mm"},
		{`{"load_kn":12,"soil_kpa":7.2,"thickness_mm":300,"concrete_kn_m3":24}`, "thickness_mm"},
		{`{"load_kn":12,"soil_kpa":100,"concrete_kn_m3":-24}`, "concrete_kn_m3"},
		{`{"load_kn":12,"soil_kpa":100,"bags":3}`, "bags"},
		{`{"load_kn":1e300,"soil_kpa":1e-300}`, "input"},
		{`{"load_kn":1e150,"soil_kpa":1e-150,"thickness_mm":1e150}`, "input"},
	}
	for _, tt := range tests {
		wantBad(t, "pad", tt.in, tt.field)
	}
}
