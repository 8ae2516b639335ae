package beam_test

import (
	"fmt"

	"relevel/levelling/beam"
)

// A bearer over three supports, the middle one 20 mm up.
func ExampleBearer_Solve() {
	b := beam.Bearer{
		Spans:    []beam.Span{{LengthM: 1.8, EI: 87.5, UDL: 1}, {LengthM: 1.8, EI: 87.5, UDL: 1}},
		Supports: []beam.Support{{}, {RaiseMM: 20}, {}},
	}
	s, err := b.Solve()
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, r := range s.Rests {
		fmt.Printf("%d: %.2f kN, %.1f mm of daylight\n", i+1, r.ReactionKN, r.GapMM)
	}
	// Output:
	// 1: 0.00 kN, 5.0 mm of daylight
	// 2: 3.60 kN, 0.0 mm of daylight
	// 3: 0.00 kN, 5.0 mm of daylight
}

// Both ends come off at 15 mm; where the ratio of load to stiffness may be half
// or double of what is given, somewhere from 7 to 30.
func ExampleBearer_Watch() {
	b := beam.Bearer{
		Spans:    []beam.Span{{LengthM: 1.8, EI: 87.5, UDL: 1}, {LengthM: 1.8, EI: 87.5, UDL: 1}},
		Supports: make([]beam.Support, 3),
	}
	steps, err := b.Path(1, 40)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range steps {
		fmt.Printf("%.1f mm: %.2f kN, off %v\n", s.RaiseMM, s.ForceKN, s.Off)
	}
	watch, err := b.Watch(1, 40, 1.4142)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, w := range watch {
		fmt.Printf("from %.0f to %.0f mm: watch support %d\n", w.From, *w.To, w.Support+1)
	}
	// Output:
	// 15.0 mm: 3.60 kN, off [0 2]
	// 40.0 mm: 3.60 kN, off []
	// from 7 to 30 mm: watch support 1
	// from 7 to 30 mm: watch support 3
}
