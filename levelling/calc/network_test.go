package calc

import (
	"strings"
	"testing"
)

func TestNetwork(t *testing.T) {
	const (
		fixed  = `"fixed":[{"point":"A","height_mm":437596}]`
		levels = `"differences":[{"from":"A","to":"B","rise_mm":10509,"sd_mm":6},{"from":"B","to":"C","rise_mm":5360,"sd_mm":4},` +
			`{"from":"C","to":"D","rise_mm":-8523,"sd_mm":5},{"from":"D","to":"A","rise_mm":-7348,"sd_mm":3},` +
			`{"from":"B","to":"D","rise_mm":-3167,"sd_mm":4},{"from":"A","to":"C","rise_mm":15881,"sd_mm":12}]`
		// Ghilani & Wolf, Example 12.1; levelling's own test has what is published of it.
		answered = `{"points":[{"point":"A","height_mm":437596,"sd_mm":0,"sd_fitted_mm":0},` +
			`{"point":"B","height_mm":448108.712,"sd_mm":3.525,"sd_fitted_mm":2.295},` +
			`{"point":"C","height_mm":453468.468,"sd_mm":4.048,"sd_fitted_mm":2.636},` +
			`{"point":"D","height_mm":444943.605,"sd_mm":2.704,"sd_fitted_mm":1.761}],"planes":[],"observations":[` +
			`{"residual_mm":3.712,"redundancy":0.654869,"w":0.764447,"suspect":false},` +
			`{"residual_mm":-0.244,"redundancy":0.329448,"w":-0.106252,"suspect":false},` +
			`{"residual_mm":-1.862,"redundancy":0.509175,"w":-0.522013,"suspect":false},` +
			`{"residual_mm":0.395,"redundancy":0.187705,"w":0.30365,"suspect":false},` +
			`{"residual_mm":1.894,"redundancy":0.432621,"w":0.719739,"suspect":false},` +
			`{"residual_mm":-8.532,"redundancy":0.886182,"w":-0.7553,"suspect":false}],"degrees_of_freedom":3,"s0":0.651184}`
	)
	wantText(t, "network", `{`+fixed+`,`+levels+`}`, answered)
	// At 60 % the critical value is 0.524.
	wantText(t, "network", `{`+fixed+`,`+levels+`,"readings":[],"alpha":0.6}`,
		strings.Replace(answered, `"w":0.764447,"suspect":false`, `"w":0.764447,"suspect":true`, 1))
	wantText(t, "network", `{`+fixed+`,"readings":[{"setup":"A","point":"A","staff_mm":1400,"sd_mm":1},{"setup":"A","point":"B","staff_mm":-2000,"sd_mm":1}]}`,
		`{"points":[{"point":"A","height_mm":437596,"sd_mm":0,"sd_fitted_mm":null},{"point":"B","height_mm":440996,"sd_mm":1.414,"sd_fitted_mm":null}],`+
			`"planes":[{"setup":"A","height_mm":438996,"sd_mm":1}],"observations":[`+
			`{"residual_mm":0,"redundancy":0,"w":null,"suspect":false},{"residual_mm":0,"redundancy":0,"w":null,"suspect":false}],`+
			`"degrees_of_freedom":0,"s0":null}`)
}

func TestNetworkBadInput(t *testing.T) {
	const fixed, level = `"fixed":[{"point":"A","height_mm":0}]`, `{"from":"A","to":"B","rise_mm":1,"sd_mm":1}`
	tests := []struct{ in, field string }{
		{`{"differences":[` + level + `]}`, "fixed"},
		{`{"fixed":[],"differences":[` + level + `]}`, "fixed"},
		{`{"fixed":[{"point":"A"}],"differences":[` + level + `]}`, "fixed[0].height_mm"},
		{`{` + fixed + `}`, "differences"},
		{`{` + fixed + `,"differences":[],"readings":null}`, "differences"},
		{`{` + fixed + `,"differences":[` + level + `],"alpha":0}`, "alpha"},
		{`{` + fixed + `,"differences":[` + level + `],"alpha":"5 %"}`, "alpha"},
		{`{` + fixed + `,"differences":[` + level + `],"points":[]}`, "points"},
		{`{` + fixed + `,"differences":[{"from":"A","to":"B","rise_mm":1}]}`, "differences[0].sd_mm"},
		{`{` + fixed + `,"differences":[{"from":"A","to":"A","rise_mm":1,"sd_mm":1}]}`, "differences[0].to"},
		{`{` + fixed + `,"differences":[{"from":"B","to":"C","rise_mm":1,"sd_mm":1}]}`, "differences[0].from"},
		{`{` + fixed + `,"differences":[` + level + `],"readings":[{"setup":"A","point":"Q","staff_mm":1,"sd_mm":1}]}`, "readings[0].point"},
		{`{` + fixed + `,"readings":[{"setup":"A","point":"A","staff_mm":1,"sd_mm":0}]}`, "readings[0].sd_mm"},
		{`{` + fixed + `,"differences":[` + strings.Replace(level, `"rise_mm":1`, `"rise_mm":1e308`, 1) + `,` +
			strings.Replace(level, `"rise_mm":1`, `"rise_mm":-1e308`, 1) + `]}`, "input"},
	}
	for _, tt := range tests {
		wantBad(t, "network", tt.in, tt.field)
	}
}
