package calc

import "testing"

// F = p·πD²/4, computed: 50 mm at 20 MPa is 39.27 kN.
func TestJack(t *testing.T) {
	const push = `{"force_kn":39.2699,"low_kn":35.3429,"high_kn":43.1969`
	const caution = `,"caution":"` + jackCaution + `"}`
	tests := []struct{ name, in, want string }{
		{"NoRating", `{"bore_mm":50,"pressure_mpa":20}`, push},
		{"Within", `{"bore_mm":50,"pressure_mpa":20,"rated_kn":49}`, push + `,"over_rating":false`},
		{"MayBeOver", `{"bore_mm":50,"pressure_mpa":20,"rated_kn":40}`, push + `,"over_rating":true`},
		{"Over", `{"bore_mm":50,"pressure_mpa":20,"rated_kn":30}`, push + `,"over_rating":true`},
		{"NoPressure", `{"bore_mm":50,"pressure_mpa":0}`, `{"force_kn":0,"low_kn":0,"high_kn":0`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantText(t, "jack", tt.in, tt.want+caution) })
	}
}

func TestJackBadInput(t *testing.T) {
	tests := []struct{ in, field string }{
		{`{"pressure_mpa":20}`, "bore_mm"},
		{`{"bore_mm":0,"pressure_mpa":20}`, "bore_mm"},
		{`{"bore_mm":50}`, "pressure_mpa"},
		{`{"bore_mm":50,"pressure_mpa":-1}`, "pressure_mpa"},
		{`{"bore_mm":50,"pressure_mpa":1,"rated_kn":0}`, "rated_kn"},
		{`{"bore_mm":50,"pressure_mpa":1,"rated_t":5}`, "rated_t"},
		{`{"bore_mm":1e200,"pressure_mpa":1e200}`, "input"},
	}
	for _, tt := range tests {
		wantBad(t, "jack", tt.in, tt.field)
	}
}
