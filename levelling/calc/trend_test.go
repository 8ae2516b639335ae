package calc

import "testing"

// The numbers are computed by hand from the normal equations.
func TestTrend(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"one", `{"readings":[{"day":12,"height_mm":-3.1,"sd_mm":0.5}]}`,
			`{"mm_per_month":null,"low":null,"high":null,"span_days":0,"verdict":"too-soon"}`},
		{"moving", `{"readings":[{"day":0,"height_mm":0,"sd_mm":1},{"day":182.625,"height_mm":-6,"sd_mm":1},{"day":365.25,"height_mm":-12,"sd_mm":1}]}`,
			`{"mm_per_month":-1,"low":-1.231,"high":-0.769,"span_days":365.25,"verdict":"moving"}`},
		{"stable", `{"readings":[{"day":0,"height_mm":0,"sd_mm":9},{"day":182.625,"height_mm":-6,"sd_mm":9},{"day":365.25,"height_mm":-12,"sd_mm":9}]}`,
			`{"mm_per_month":-1,"low":-3.079,"high":1.079,"span_days":365.25,"verdict":"stable"}`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantText(t, "trend", tt.in, tt.want) })
	}
}

func TestTrendBadInput(t *testing.T) {
	tests := []struct{ in, field string }{
		{`{}`, "readings"},
		{`{"readings":[]}`, "readings"},
		{`{"readings":[{"height_mm":0,"sd_mm":1}]}`, "readings[0].day"},
		{`{"readings":[{"day":0,"sd_mm":1}]}`, "readings[0].height_mm"},
		{`{"readings":[{"day":0,"height_mm":0}]}`, "readings[0].sd_mm"},
		{`{"readings":[{"day":0,"height_mm":0,"sd_mm":0}]}`, "readings[0].sd_mm"},
		{`{"readings":[{"day":0,"height_mm":0,"sd_mm":1}],"days":3}`, "days"},
		{`{"readings":[{"day":-1.7e308,"height_mm":0,"sd_mm":1},{"day":1.7e308,"height_mm":0,"sd_mm":1}]}`, "readings"},
	}
	for _, tt := range tests {
		wantBad(t, "trend", tt.in, tt.field)
	}
}
