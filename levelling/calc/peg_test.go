package calc

import "testing"

// The worked example, read, that levelling's own test has in full.
func TestPeg(t *testing.T) {
	in := `{"mid":{"a_mm":2000,"b_mm":3000},"off":{"a_mm":1500,"b_mm":2750,"to_a_m":120,"to_b_m":20}}`
	wantText(t, "peg", in, `{"error_mm_per_m":-2.5,"corrected_a_mm":1800,"corrected_b_mm":2800}`)
}

func TestPegBadInput(t *testing.T) {
	const mid = `"mid":{"a_mm":2000,"b_mm":3000}`
	tests := []struct{ in, field string }{
		{`{}`, "mid"},
		{`{` + mid + `}`, "off"},
		{`{` + mid + `,"off":{"a_mm":1,"b_mm":2,"to_a_m":3}}`, "off.to_b_m"},
		{`{` + mid + `,"off":{"a_mm":1,"b_mm":2,"to_a_m":3,"to_b_m":3}}`, "off.to_b_m"},
		{`{` + mid + `,"off":{"a_mm":1,"b_mm":2,"to_a_m":-3,"to_b_m":3}}`, "off.to_a_m"},
		{`{` + mid + `,"off":{"a_mm":"1","b_mm":2,"to_a_m":2,"to_b_m":3}}`, "off.a_mm"},
		{`{"mid":{"a_mm":2000,"b_mm":3000,"to_a_m":10},"off":{"a_mm":1,"b_mm":2,"to_a_m":2,"to_b_m":3}}`, "mid.to_a_m"},
		{`{` + mid + `,"off":{"a_mm":1e308,"b_mm":-1e308,"to_a_m":2,"to_b_m":3}}`, "off"},
	}
	for _, tt := range tests {
		wantBad(t, "peg", tt.in, tt.field)
	}
}
