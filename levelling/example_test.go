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

// A support is read 9 mm low, jacked to its target and read again.
func ExampleFilter() {
	var f levelling.Filter
	datum := f.Hold(levelling.Height{MM: 0})
	plane := f.Enter(datum, 1500, levelling.ReceiverSD)
	bearer := f.Enter(plane, -1512, levelling.ReceiverSD)

	fmt.Println("remaining:", levelling.FormatMM(levelling.Remaining(-3, f.Height(bearer).MM)))
	fmt.Println("stop at:", levelling.FormatMM(levelling.StopFigure(f.Height(plane), -3)))

	f.Move([]levelling.Unknown{bearer}, 9, levelling.RuleSD)
	by, odd := f.Test(bearer, plane, -1504, levelling.ReceiverSD)
	fmt.Println("from what was expected:", levelling.FormatMM(by), odd)
	// Output:
	// remaining: 9
	// stop at: 1503
	// from what was expected: -1 false
}

// The floor is judged; the bearer below it is read again.
func ExampleFilter_Between() {
	var f levelling.Filter
	plane := f.Enter(f.Hold(levelling.Height{}), 1000, 1)
	floor, bearer := f.Enter(plane, -1008, 1), f.Enter(plane, -1150, 1)

	f.Move([]levelling.Unknown{floor, bearer}, 7, 5) // by the turns of a screw
	f.Observe(bearer, plane, -1145, 1)
	fmt.Printf("floor %.1f ± %.1f\n", f.Height(floor).MM, f.Height(floor).SD)
	fmt.Printf("above the bearer %.1f ± %.1f\n", f.Between(floor, bearer).MM, f.Between(floor, bearer).SD)
	// Output:
	// floor -2.9 ± 2.0
	// above the bearer 142.1 ± 1.4
}

func ExampleFormatInches() {
	fmt.Println(levelling.FormatInches(30), levelling.FormatInches(-38.1))
	// Output: 1 3/16 -1 1/2
}
