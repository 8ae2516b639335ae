package underfloor_test

import (
	"fmt"

	"relevel/levelling/underfloor"
)

func ExampleStock_Packer() {
	stock := underfloor.Stock{SizesMM: []float64{25, 18, 12, 6, 3}, MaxPieces: 2, WithinMM: 0.5}
	stacked, err := stock.Packer(18, 3) // the gap, and what it will bed in by
	fmt.Println(stacked.PiecesMM, stacked.OverMM, err)
	cut, err := stock.Packer(22, 0)
	fmt.Println(cut.PiecesMM, "cut from", *cut.CutFrom, err)
	// Output:
	// [18 3] 0 <nil>
	// [22] cut from 25 <nil>
}

func ExamplePackingRule_Breaks() {
	rule, _ := underfloor.FindPackingRule("mbie")
	fmt.Println(rule.Breaks([]float64{90, 25}, true))
	// Output: 115 mm of packing: one support is packed 100 mm at most, and replaced beyond it
}

func ExampleFloorCut_Edges() {
	edges, err := underfloor.FloorCut{Board: 19, Joist: 45, Kerf: 3}.Edges()
	fmt.Printf("%+v %v\n", edges, err)
	// Output: {SawDepth:19 Left:21 Right:21} <nil>
}

func ExampleJack_Push() {
	rated := 42.0
	push, err := underfloor.Jack{BoreMM: 50, PressureMPa: 20, RatedKN: &rated}.Push()
	fmt.Printf("%.1f to %.1f kN, over its rating: %v %v\n", push.LowKN, push.HighKN, *push.OverRating, err)
	// Output: 35.3 to 43.2 kN, over its rating: true <nil>
}
