package calc

import "relevel/levelling/underfloor"

var packer = calculator{
	name:  "packer",
	about: "the packer for a measured gap, from what is in stock",
	help: `need_mm is gap_mm and what the packer will bed in by. Any number of each thickness of stock_mm, at most
max_pieces on one another, whose sum is within_mm of it: the fewest pieces, then the closest, of two as
close the thicker, of the same sum that with the thickest pieces, which stand first. over_mm is negative
when short. Where no stack does, one piece is cut to size, from the thinnest that is thick enough:
cut_from_mm, which is left out where none is. Thicknesses of many that have no common measure may have
more sums than can be tried, which is refused.`,
	example: `{"gap_mm":18,"bedding_mm":2,"stock_mm":[25,18,12,6,3],"max_pieces":2,"within_mm":1}`,
	run:     runPacker,
}

// packerCaution is common practice, and New Zealand guidance (full width, fixed
// again).
const packerCaution = "Nothing of you between bearer and support: drive packing through with a stick or a longer packer. " +
	"Packers bear on the full width, each side of a join has its own, and the bearer is fixed again. " +
	"Old packers and sheet may hold asbestos. Local codes decide how high a support may be packed."

type packerAnswer struct {
	Need    number   `json:"need_mm"`
	How     string   `json:"how"`
	Pieces  []number `json:"pieces_mm"`
	Sum     number   `json:"sum_mm"`
	Over    number   `json:"over_mm"`
	CutFrom *number  `json:"cut_from_mm,omitempty"`
	Caution string   `json:"caution"`
}

func runPacker(in *object) (any, error) {
	gap := in.number("gap_mm", "the measured gap in mm, 0 or more")
	bedding := in.numberOr("bedding_mm", 0, "what the packer will bed in by in mm, 0 or more")
	stock := underfloor.Stock{
		SizesMM:   in.numbersOr("stock_mm", "the thicknesses there are in mm, each above 0"),
		MaxPieces: in.whole("max_pieces", "how many pieces may lie on one another, 1 to 10 000"),
		WithinMM:  in.number("within_mm", "how far the sum may be off in mm, 0 or more"),
	}
	if !in.ok() {
		return nil, nil
	}
	p, err := stock.Packer(gap, bedding)
	if err != nil {
		return nil, err
	}
	answer := packerAnswer{
		Need: mm(p.NeedMM), How: "stack", Sum: mm(p.SumMM), Over: mm(p.OverMM),
		CutFrom: optional(p.CutFrom, mm), Caution: packerCaution,
	}
	if p.Cut {
		answer.How = "cut"
	}
	for _, x := range p.PiecesMM {
		answer.Pieces = append(answer.Pieces, mm(x))
	}
	return answer, nil
}
