package calc

import "testing"

const (
	ncc = `,"source":"NCC 2022 Housing Provisions 6.2.1a (read as NCC 2019 3.4.1)"}`
	ir  = `,"source":"IRC R408 (second-hand)"}`
)

// Computed: 30 m of wall and 50 m² by each rule.
func TestVents(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"NCC", `{"rule":"ncc-2022","zone":"C","wall_m":30,"floor_m2":50}`, `{"required_mm2":180000` + ncc},
		{
			"NCCSealed", `{"rule":"ncc-2022","zone":"C","sealed":true,"wall_m":30,"floor_m2":50,"vents_mm2":[60000,40000]}`,
			`{"required_mm2":90000,"provided_mm2":100000,"short_mm2":0` + ncc,
		},
		{
			"NZ", `{"rule":"nz-e2","wall_m":30,"floor_m2":50}`,
			`{"required_mm2":175000,"source":"NZ E2/AS1 and NZS 3604 6.14 (second-hand)"}`,
		},
		{
			"IRC", `{"rule":"irc","wall_m":30,"floor_m2":50,"vents_mm2":[]}`,
			`{"required_mm2":333333.333,"provided_mm2":0,"short_mm2":333333.333` + ir,
		},
		{"IRCSealed", `{"rule":"irc","sealed":true,"wall_m":30,"floor_m2":50}`, `{"required_mm2":33333.333` + ir},
		{
			"UK", `{"rule":"uk-c","zone":"B","sealed":false,"wall_m":30,"floor_m2":50,"vents_mm2":[44999.5]}`,
			`{"required_mm2":45000,"provided_mm2":44999.5,"short_mm2":0.5,"source":"UK Approved Document C (second-hand)"}`,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantText(t, "vents", tt.in, tt.want) })
	}
}

func TestVentsBadInput(t *testing.T) {
	tests := []struct{ in, field string }{
		{`{"wall_m":30,"floor_m2":50}`, "rule"},
		{`{"rule":"mine","wall_m":30,"floor_m2":50}`, "rule"},
		{`{"rule":"ncc-2022","wall_m":30,"floor_m2":50}`, "zone"},
		{`{"rule":"ncc-2022","zone":null,"wall_m":30,"floor_m2":50}`, "zone"},
		{`{"rule":"ncc-2022","zone":"D","wall_m":30,"floor_m2":50}`, "zone"},
		{`{"rule":"irc","zone":"D","wall_m":30,"floor_m2":50}`, "zone"},
		{`{"rule":"irc","zone":"","wall_m":30,"floor_m2":50}`, "zone"},
		{`{"rule":"irc","sealed":"yes","wall_m":30,"floor_m2":50}`, "sealed"},
		{`{"rule":"irc","floor_m2":50}`, "wall_m"},
		{`{"rule":"irc","wall_m":-30,"floor_m2":50}`, "wall_m"},
		{`{"rule":"irc","wall_m":30}`, "floor_m2"},
		{`{"rule":"irc","wall_m":30,"floor_m2":-50}`, "floor_m2"},
		{`{"rule":"irc","wall_m":30,"floor_m2":50,"vents_mm2":[1,-1]}`, "vents_mm2[1]"},
		{`{"rule":"irc","wall_m":30,"floor_m2":50,"vents_mm2":9000}`, "vents_mm2"},
		{`{"rule":"irc","wall_m":30,"floor_m2":1e308}`, "input"},
		{`{"rule":"irc","wall_m":30,"floor_m2":50,"vents_mm2":[1e308,1e308]}`, "input"},
	}
	for _, tt := range tests {
		wantBad(t, "vents", tt.in, tt.field)
	}
}
