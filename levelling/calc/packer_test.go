package calc

import "testing"

func TestPacker(t *testing.T) {
	const caution = `,"caution":"` + packerCaution + `"}`
	tests := []struct{ name, in, want string }{
		{
			"Stack", `{"gap_mm":18,"bedding_mm":2,"stock_mm":[25,18,12,6,3],"max_pieces":2,"within_mm":1}`,
			`{"need_mm":20,"how":"stack","pieces_mm":[18,3],"sum_mm":21,"over_mm":1`,
		},
		{
			"NoBedding", `{"gap_mm":19,"bedding_mm":null,"stock_mm":[25,18,12,6,3],"max_pieces":2,"within_mm":1}`,
			`{"need_mm":19,"how":"stack","pieces_mm":[18],"sum_mm":18,"over_mm":-1`,
		},
		{
			"Cut", `{"gap_mm":22.5,"stock_mm":[50,25],"max_pieces":2,"within_mm":0}`,
			`{"need_mm":22.5,"how":"cut","pieces_mm":[22.5],"sum_mm":22.5,"over_mm":0,"cut_from_mm":25`,
		},
		{
			"CutFromNothing", `{"gap_mm":40,"stock_mm":[],"max_pieces":2,"within_mm":1}`,
			`{"need_mm":40,"how":"cut","pieces_mm":[40],"sum_mm":40,"over_mm":0`,
		},
		{
			"Sixteenths", `{"gap_mm":3.175,"stock_mm":[1.5875],"max_pieces":2,"within_mm":0}`,
			`{"need_mm":3.175,"how":"stack","pieces_mm":[1.588,1.588],"sum_mm":3.175,"over_mm":0`,
		},
		{
			"LargeGap", `{"gap_mm":999999.9,"stock_mm":[0.0003,600000.1,399999.8],"max_pieces":2,"within_mm":0}`,
			`{"need_mm":999999.9,"how":"stack","pieces_mm":[600000.1,399999.8],"sum_mm":999999.9,"over_mm":0`,
		},
		{
			"ManyPieces", `{"gap_mm":9,"stock_mm":[3],"max_pieces":1e4,"within_mm":1e300}`,
			`{"need_mm":9,"how":"stack","pieces_mm":[3],"sum_mm":3,"over_mm":-6`,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { wantText(t, "packer", tt.in, tt.want+caution) })
	}
}

func TestPackerBadInput(t *testing.T) {
	tests := []struct{ in, field string }{
		{`{"stock_mm":[6],"max_pieces":1,"within_mm":1}`, "gap_mm"},
		{`{"gap_mm":-1,"stock_mm":[6],"max_pieces":1,"within_mm":1}`, "gap_mm"},
		{`{"gap_mm":0,"stock_mm":[6],"max_pieces":1,"within_mm":1}`, "gap_mm"},
		{`{"gap_mm":1e308,"stock_mm":[6],"max_pieces":1,"within_mm":1}`, "gap_mm"},
		{`{"gap_mm":5,"bedding_mm":-1,"stock_mm":[6],"max_pieces":1,"within_mm":1}`, "bedding_mm"},
		{`{"gap_mm":5,"max_pieces":1,"within_mm":1}`, "stock_mm"},
		{`{"gap_mm":5,"stock_mm":6,"max_pieces":1,"within_mm":1}`, "stock_mm"},
		{`{"gap_mm":5,"stock_mm":[6,-1],"max_pieces":1,"within_mm":1}`, "stock_mm[1]"},
		{`{"gap_mm":5,"stock_mm":[6,"3"],"max_pieces":1,"within_mm":1}`, "stock_mm[1]"},
		{`{"gap_mm":5,"stock_mm":[6],"within_mm":1}`, "max_pieces"},
		{`{"gap_mm":5,"stock_mm":[6],"max_pieces":1.5,"within_mm":1}`, "max_pieces"},
		{`{"gap_mm":5,"stock_mm":[6],"max_pieces":0,"within_mm":1}`, "max_pieces"},
		{`{"gap_mm":5,"stock_mm":[6],"max_pieces":1e300,"within_mm":1}`, "max_pieces"},
		{`{"gap_mm":5,"stock_mm":[6],"max_pieces":10001,"within_mm":1}`, "max_pieces"},
		{`{"gap_mm":5,"stock_mm":[6],"max_pieces":1}`, "within_mm"},
		{`{"gap_mm":5,"stock_mm":[6],"max_pieces":1,"within_mm":-1}`, "within_mm"},
		{`{"gap_mm":5,"stock_mm":[6],"max_pieces":1,"within_mm":1,"stock":[6]}`, "stock"},
		{`{"gap_mm":99999.999999,"stock_mm":[7.001001,13.000013,29.500007,31.000001,17.123457,5.000003],"max_pieces":10000,"within_mm":0}`, "stock_mm"},
	}
	for _, tt := range tests {
		wantBad(t, "packer", tt.in, tt.field)
	}
}
