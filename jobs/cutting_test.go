package jobs_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling/underfloor"
)

var stock = jobs.PackerRules{Rule: "mbie", Stock: underfloor.Stock{SizesMM: []float64{25, 18, 12, 6, 3}, MaxPieces: 2, WithinMM: 0.5}}

// A gap of 20 where the floor stands 1 too low and nothing was let down before: 21.
func TestCuttingList(t *testing.T) {
	s, u := agreed(t)
	s.jack("B1-3", 19)
	s.read(u, "B1-3", 1001)
	list := jobs.Refold(s.job, s.log).CuttingList(stock, s.clock)
	if len(list) != 1 || list[0].Ask != "measure the gap" {
		t.Fatalf("%+v", list)
	}
	gap := events.Packing{Support: "B1-3", Sort: events.Temporary, Gap: mm(20)}
	s.record(events.KindPacking, gap)
	list = jobs.Refold(s.job, s.log).CuttingList(stock, s.clock)
	if c := list[0]; !c.Measured || math.Abs(c.NeedMM-21) > 1e-6 || !slices.Equal(c.PiecesMM, []float64{18, 3}) || c.Cut {
		t.Errorf("%+v", c)
	}
	t.Run("NotMeasured", func(t *testing.T) {
		s, u := agreed(t)
		s.jack("B1-3", 19)
		s.read(u, "B1-3", 1000)
		s.pack("B1-3", events.Temporary, 60, 60)
		c := jobs.Refold(s.job, s.log).CuttingList(stock, s.clock)[0]
		if c.Measured || c.GapMM != 120 || !c.Cut || c.FromMM != nil {
			t.Errorf("as the temporary packing has it: %+v", c)
		}
		if len(c.Cautions) != 1 || !strings.Contains(c.Cautions[0], "100 mm at most") {
			t.Errorf("%q", c.Cautions)
		}
	})
	t.Run("LearnedBedding", func(t *testing.T) {
		s, u := agreed(t)
		for _, by := range []float64{8, 3, 3} {
			s.jack("B1-4", by)
			s.read(u, "B1-4", 997)
			s.pack("B1-4", events.Final, 20)
			s.down("B1-4")
			s.read(u, "B1-4", 1000)
		}
		s.jack("B1-2", 12)
		s.read(u, "B1-2", 1000)
		s.record(events.KindPacking, events.Packing{Support: "B1-2", Sort: events.Temporary, Gap: mm(20)})
		c := jobs.Refold(s.job, s.log).CuttingList(stock, s.clock)[0]
		if c.Support != "B1-2" || c.Bedding.From != 3 || c.NeedMM < 21 || c.NeedMM > 22 {
			t.Errorf("%+v", c)
		}
	})
	t.Run("Nothing", func(t *testing.T) {
		s, _ := agreed(t)
		if list := jobs.Refold(s.job, s.log).CuttingList(stock, s.clock); list != nil {
			t.Errorf("%+v", list)
		}
	})
}

// A wet packer gives back part of the lift, where there is a figure for its species.
func TestDrying(t *testing.T) {
	p := events.Packing{Pieces: []events.Piece{
		{Thickness: mm(50), Material: "Douglas fir", MoisturePct: 19}, {Thickness: mm(50), Material: "jarrah", MoisturePct: 40}, {Thickness: mm(50), Material: "white oak"}}}
	words := jobs.Drying(&p, 12)
	if len(words) != 1 || !strings.HasPrefix(words[0], "Douglas fir: 1 mm lost from 19 to 12 % (USDA") {
		t.Errorf("%q", words)
	}
}
