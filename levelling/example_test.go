package levelling_test

import (
	"fmt"

	"relevel/levelling"
)

func ExampleRun_Book() {
	run := levelling.Run{
		Start: levelling.Mark{Point: "TBM", Height: 50},
		Rows: []levelling.BookRow{
			{Setup: "1", Point: "TBM", Sight: levelling.BackSight, Staff: 1.400},
			{Setup: "1", Point: "A", Sight: levelling.Intermediate, Staff: 1.235},
			{Setup: "1", Point: "B", Sight: levelling.ForeSight, Staff: 1.870},
		},
	}
	book, err := run.Book()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, e := range book.Entries {
		fmt.Printf("%-3s %.3f\n", e.Point, e.Height)
	}
	fmt.Println("balanced:", book.Balanced)
	// Output:
	// TBM 50.000
	// A   50.165
	// B   49.530
	// balanced: true
}

// A bearer is read from a set-up on one datum, jacked, and read again.
func ExampleStopFigure() {
	plane, _, err := levelling.Plane([]levelling.DatumReading{
		{Datum: levelling.Height{MM: 0}, Staff: 1500, SD: levelling.ReceiverSD},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	present := levelling.Reduce(plane, 1512, levelling.ReceiverSD)
	fmt.Println("remaining:", levelling.FormatMM(levelling.Remaining(-3, present.MM)))
	fmt.Println("stop at:", levelling.FormatMM(levelling.StopFigure(plane, -3)))

	expected := levelling.Moved(present, 9, levelling.RuleSD)
	again := levelling.Reduce(plane, 1504, levelling.ReceiverSD)
	by, odd := levelling.Disagrees(again, expected)
	fmt.Println("from what was expected:", levelling.FormatMM(by), odd)
	// Output:
	// remaining: 9
	// stop at: 1503
	// from what was expected: -1 false
}

// The floor is judged; the bearer below it is read.
func ExampleOffset() {
	floor, bearer := levelling.Height{MM: -8, SD: 1}, levelling.Height{MM: -150, SD: 1}
	offset := levelling.Offset(floor, bearer)
	lifted := levelling.Upper(levelling.Height{MM: -143, SD: 1}, offset)
	fmt.Printf("floor %s ± %.1f\n", levelling.FormatMM(lifted.MM), lifted.SD)
	// Output: floor -1 ± 1.7
}

func ExampleFloorCut_Edges() {
	edges, err := levelling.FloorCut{Board: 19, Joist: 45, Kerf: 3}.Edges()
	fmt.Printf("%+v %v\n", edges, err)
	// Output: {SawDepth:19 Left:21 Right:21} <nil>
}

func ExampleFormatInches() {
	fmt.Println(levelling.FormatInches(30), levelling.FormatInches(-38.1))
	// Output: 1 3/16 -1 1/2
}
