package levelling_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"relevel/levelling"
)

const (
	bs = levelling.BackSight
	is = levelling.Intermediate
	fs = levelling.ForeSight
)

// Published runs are in m or ft to the third decimal.
var near = cmpopts.EquateApprox(0, 1e-9)

type published struct {
	name    string // and source
	run     levelling.Run
	heights []float64 // one a row
	sums    [4]float64
	miss    *float64
}

func ptr(x float64) *float64 { return &x }

var publishedRuns = []published{
	{
		name: "course sheet ACET108 Levelling example (m; read, computed)",
		run: levelling.Run{
			Start: levelling.Mark{Point: "TBM", Height: 50},
			Rows: []levelling.BookRow{
				{"1", "TBM", bs, 1.400}, {"1", "A", is, 1.235}, {"1", "B", fs, 1.870},
				{"2", "B", bs, 1.355}, {"2", "C", is, 3.340}, {"2", "D", fs, 1.975},
				{"3", "D", bs, 0.585}, {"3", "E", fs, 0.855},
			},
		},
		heights: []float64{50, 50.165, 49.530, 49.530, 47.545, 48.910, 48.910, 48.640},
		sums:    [4]float64{3.340, 4.700, 1.530, 2.890},
	},
	{
		name: "field notes with a misclosure (ft; read, computed)",
		run: levelling.Run{
			Start: levelling.Mark{Point: "BM A", Height: 100},
			End:   &levelling.Mark{Point: "BM B", Height: 94.91},
			Rows: []levelling.BookRow{
				{"1", "BM A", bs, 3.10}, {"1", "TP1", fs, 9.82},
				{"2", "TP1", bs, 6.44}, {"2", "TP2", fs, 6.96},
				{"3", "TP2", bs, 8.76}, {"3", "TP3", fs, 3.27},
				{"4", "TP3", bs, 7.12}, {"4", "BM B", fs, 10.42},
			},
		},
		heights: []float64{100, 93.28, 93.28, 92.76, 92.76, 98.25, 98.25, 94.95},
		sums:    [4]float64{25.42, 30.47, 5.49, 10.54},
		miss:    ptr(0.04), // computed − known
	},
	{
		name: "underground levelling, staff inverted between (m; read, computed)",
		run: levelling.Run{
			Start: levelling.Mark{Point: "BM", Height: 160.528},
			Rows: []levelling.BookRow{
				{"1", "BM", bs, 2.185}, {"1", "A", is, -3.045}, {"1", "B", is, -1.276},
				{"1", "C", is, -3.412}, {"1", "D", fs, 2.508},
			},
		},
		heights: []float64{160.528, 165.758, 163.989, 166.125, 160.205},
		sums:    [4]float64{2.185, 2.508, 5.230 + 2.136, 1.769 + 5.920},
	},
	{
		name: "inverted at both ends with a change point (m; read, computed)",
		run: levelling.Run{
			Start: levelling.Mark{Point: "A", Height: 101.50},
			Rows: []levelling.BookRow{
				{"1", "A", bs, -2.25}, {"1", "B", fs, 1.05},
				{"2", "B", bs, 1.35}, {"2", "C", fs, -4.100},
			},
		},
		heights: []float64{101.50, 98.20, 98.20, 103.65},
		sums:    [4]float64{-0.90, -3.05, 5.45, 3.30},
	},
	{
		name: "roof to ground (m; read, computed)",
		run: levelling.Run{
			Start: levelling.Mark{Point: "roof", Height: 100},
			Rows:  []levelling.BookRow{{"1", "roof", bs, -3.500}, {"1", "ground", fs, 1.200}},
		},
		heights: []float64{100, 95.30},
		sums:    [4]float64{-3.5, 1.2, 0, 4.7},
	},
	{
		name: "floor to truss (m; read, computed)",
		run: levelling.Run{
			Start: levelling.Mark{Point: "floor", Height: 36},
			Rows:  []levelling.BookRow{{"1", "floor", bs, 1.40}, {"1", "truss", fs, -3.67}},
		},
		heights: []float64{36, 41.07},
		sums:    [4]float64{1.40, -3.67, 5.07, 0},
	},
	{
		// The page books the last leg as a fall and prints 100.415.
		name: "a published answer that is wrong, put right (m; read, computed)",
		run: levelling.Run{
			Start: levelling.Mark{Point: "BM", Height: 100},
			Rows: []levelling.BookRow{
				{"1", "BM", bs, 1.855}, {"1", "A", is, 2.410}, {"1", "B", is, 1.280}, {"1", "CP", fs, 0.995},
				{"2", "CP", bs, 2.165}, {"2", "C", fs, 1.720},
			},
		},
		heights: []float64{100, 99.445, 100.575, 100.860, 100.860, 101.305},
		sums:    [4]float64{4.020, 2.715, 1.860, 0.555},
	},
}

func heights(b levelling.Book) []float64 {
	var hs []float64
	for _, e := range b.Entries {
		hs = append(hs, e.Height)
	}
	return hs
}

func TestBookPublished(t *testing.T) {
	for _, p := range publishedRuns {
		t.Run(p.name, func(t *testing.T) {
			b, err := p.run.Book()
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(p.heights, heights(b), near); diff != "" {
				t.Errorf("heights (-published +got):\n%s", diff)
			}
			sums := [4]float64{b.SumBS, b.SumFS, b.SumRise, b.SumFall}
			if diff := cmp.Diff(p.sums, sums, near); diff != "" {
				t.Errorf("Σbs Σfs Σrise Σfall (-published +got):\n%s", diff)
			}
			if diff := cmp.Diff(p.miss, b.Misclosure, near); diff != "" {
				t.Errorf("misclosure (-published +got):\n%s", diff)
			}
			if !b.Balanced {
				t.Error("the arithmetic check fails")
			}
		})
	}
}

func TestBookDoesNotRepeatTheWrongAnswer(t *testing.T) {
	b, err := publishedRuns[6].run.Book()
	if err != nil {
		t.Fatal(err)
	}
	last := b.Entries[len(b.Entries)-1]
	if math.Abs(last.Height-100.415) < 0.1 {
		t.Errorf("C is at %v, the wrong answer", last.Height)
	}
	if last.Change <= 0 {
		t.Errorf("the last leg changes by %v, want a rise", last.Change)
	}
}

func TestBookEntries(t *testing.T) {
	run := levelling.Run{
		Start: levelling.Mark{Point: "A", Height: 10},
		Rows: []levelling.BookRow{
			{"1", "A", bs, 2}, {"1", "B", is, 2}, {"1", "C", fs, 3},
			{"2", "C", bs, 1}, {"2", "D", fs, 0.5},
		},
	}
	b, err := run.Book()
	if err != nil {
		t.Fatal(err)
	}
	want := []levelling.BookEntry{
		{Setup: "1", Point: "A", HI: 12, Height: 10, First: true},
		{Setup: "1", Point: "B", HI: 12, Height: 10},
		{Setup: "1", Point: "C", HI: 12, Height: 9, Change: -1},
		{Setup: "2", Point: "C", HI: 10, Height: 9, First: true}, // never across a change point
		{Setup: "2", Point: "D", HI: 10, Height: 9.5, Change: 0.5},
	}
	if diff := cmp.Diff(want, b.Entries); diff != "" {
		t.Errorf("entries (-want +got):\n%s", diff)
	}
}

func TestBookChain(t *testing.T) {
	start := levelling.Mark{Point: "A", Height: 10}
	tests := []struct {
		name     string
		rows     []levelling.BookRow
		heights  []float64
		balanced bool
	}{
		{"last reading an is", []levelling.BookRow{{"1", "A", bs, 2}, {"1", "B", is, 1}}, []float64{10, 11}, false},
		{"a bs alone", []levelling.BookRow{{"1", "A", bs, 2}}, []float64{10}, false},
		{
			"change point read as an is",
			[]levelling.BookRow{{"1", "A", bs, 2}, {"1", "B", is, 1}, {"1", "C", fs, 3}, {"2", "B", bs, 1}, {"2", "D", fs, 2}},
			[]float64{10, 11, 9, 11, 10}, false,
		},
		{
			"closing reading in the same set-up",
			[]levelling.BookRow{{"1", "A", bs, 2}, {"1", "B", is, 1}, {"1", "A", fs, 2.5}},
			[]float64{10, 11, 9.5}, true,
		},
		{
			"two set-ups at once",
			[]levelling.BookRow{{"1", "A", bs, 2}, {"1", "B", is, 1}, {"2", "B", bs, 4}, {"1", "C", is, 3}, {"2", "D", fs, 5}},
			[]float64{10, 11, 11, 9, 10}, false,
		},
		{
			"a bs on the latest reading of its point",
			[]levelling.BookRow{{"1", "A", bs, 2}, {"1", "B", fs, 1}, {"2", "B", bs, 1}, {"2", "A", fs, 1.5}, {"3", "A", bs, 1}, {"3", "C", fs, 1}},
			[]float64{10, 11, 11, 10.5, 10.5, 10.5}, true,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b, err := levelling.Run{Start: start, Rows: tt.rows}.Book()
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.heights, heights(b), near); diff != "" {
				t.Errorf("heights (-want +got):\n%s", diff)
			}
			if b.Balanced != tt.balanced {
				t.Errorf("balanced is %t, want %t", b.Balanced, tt.balanced)
			}
		})
	}
}

// A loop starts by the first reading of its mark and closes by the last.
func TestBookLoop(t *testing.T) {
	mark := levelling.Mark{Point: "TBM", Height: 50}
	b, err := levelling.Run{Start: mark, End: &mark, Rows: []levelling.BookRow{
		{"1", "TBM", bs, 1.5}, {"1", "P", fs, 1.2}, {"2", "P", bs, 1.1}, {"2", "TBM", fs, 1.403},
	}}.Book()
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(ptr(-0.003), b.Misclosure, near); diff != "" {
		t.Errorf("misclosure (-want +got):\n%s", diff)
	}
}

func TestBookBadInput(t *testing.T) {
	rows := func(rows ...levelling.BookRow) levelling.Run {
		return levelling.Run{Start: levelling.Mark{Point: "A", Height: 1}, Rows: rows}
	}
	good := []levelling.BookRow{{"1", "A", bs, 1}, {"1", "B", fs, 2}}
	tests := []struct {
		name  string
		run   levelling.Run
		field string
	}{
		{"no rows", rows(), "rows"},
		{"no set-up", rows(levelling.BookRow{"", "A", bs, 1}), "rows[0].setup"},
		{"no point", rows(good[0], levelling.BookRow{"1", "", is, 1}), "rows[1].point"},
		{"no sight", rows(levelling.BookRow{"1", "A", 0, 1}), "rows[0].bs"},
		{"not a number", rows(levelling.BookRow{"1", "A", bs, math.NaN()}), "rows[0].bs"},
		{"infinite", rows(good[0], levelling.BookRow{"1", "B", fs, math.Inf(-1)}), "rows[1].fs"},
		{"first reading an is", rows(levelling.BookRow{"1", "A", is, 1}), "rows[0].is"},
		{"first reading an fs", rows(good[0], good[1], levelling.BookRow{"2", "B", fs, 1}), "rows[2].fs"},
		{"two bs in a set-up", rows(good[0], levelling.BookRow{"1", "B", bs, 1}), "rows[1].bs"},
		{"reading after the fs", rows(good[0], good[1], levelling.BookRow{"1", "C", is, 1}), "rows[2].setup"},
		{"bs after the fs", rows(good[0], good[1], levelling.BookRow{"1", "B", bs, 1}), "rows[2].setup"},
		{"set-up not connected", rows(good[0], good[1], levelling.BookRow{"2", "X", bs, 1}), "rows[2].point"},
		{"start not in the run", levelling.Run{Start: levelling.Mark{Point: "Z"}, Rows: good}, "start.point"},
		{"start infinite", levelling.Run{Start: levelling.Mark{Point: "A", Height: math.Inf(1)}, Rows: good}, "start.height"},
		{"end not in the run", levelling.Run{Start: levelling.Mark{Point: "A"}, End: &levelling.Mark{Point: "Z"}, Rows: good}, "end.point"},
		{"end not a number", levelling.Run{Start: levelling.Mark{Point: "A"}, End: &levelling.Mark{Point: "B", Height: math.NaN()}, Rows: good}, "end.height"},
		{"misclosure overflows", levelling.Run{
			Start: levelling.Mark{Point: "A", Height: 1.7e308}, End: &levelling.Mark{Point: "A", Height: -1.7e308}, Rows: good,
		}, "end.height"},
		{"height overflows", rows(levelling.BookRow{"1", "A", bs, 1.7e308}, levelling.BookRow{"1", "B", fs, -1.7e308}), "rows[1].fs"},
		{"sum overflows", rows(
			levelling.BookRow{"1", "A", bs, 1e308}, levelling.BookRow{"1", "B", is, 0}, levelling.BookRow{"1", "C", is, 1e308},
			levelling.BookRow{"1", "D", fs, 0},
		), "rows"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b, err := tt.run.Book()
			wantInputError(t, err, tt.field)
			if diff := cmp.Diff(levelling.Book{}, b); diff != "" {
				t.Errorf("a book beside the error (-want +got):\n%s", diff)
			}
		})
	}
}

func wantInputError(t *testing.T, err error, field string) {
	t.Helper()
	var bad *levelling.InputError
	if !errors.As(err, &bad) {
		t.Fatalf("got %v, want an InputError on %s", err, field)
	}
	if bad.Field != field || bad.Cure == "" {
		t.Errorf("got %q, want a cure for %s", bad, field)
	}
}

// chains draws a run in one chain: every set-up from its bs to its fs.
func chains(t *rapid.T) levelling.Run {
	staff := rapid.Map(rapid.IntRange(-5000, 5000), func(mm int) float64 { return float64(mm) / 1000 })
	run := levelling.Run{Start: levelling.Mark{Point: "0", Height: staff.Draw(t, "height") * 20}}
	point := 0
	for setup := range rapid.IntRange(1, 6).Draw(t, "set-ups") {
		name := fmt.Sprint("S", setup)
		run.Rows = append(run.Rows, levelling.BookRow{name, fmt.Sprint(point), bs, staff.Draw(t, "bs")})
		for range rapid.IntRange(0, 4).Draw(t, "intermediates") {
			point++
			run.Rows = append(run.Rows, levelling.BookRow{name, fmt.Sprint(point), is, staff.Draw(t, "is")})
		}
		point++
		run.Rows = append(run.Rows, levelling.BookRow{name, fmt.Sprint(point), fs, staff.Draw(t, "fs")})
	}
	return run
}

func mustBook(t *rapid.T, run levelling.Run) levelling.Book {
	b, err := run.Book()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestBookBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := mustBook(t, chains(t))
		first, last := b.Entries[0], b.Entries[len(b.Entries)-1]
		want := last.Height - first.Height
		got := []float64{b.SumBS - b.SumFS, b.SumRise - b.SumFall}
		if diff := cmp.Diff([]float64{want, want}, got, near); diff != "" || !b.Balanced {
			t.Errorf("balanced %t, differences (-want +got):\n%s", b.Balanced, diff)
		}
	})
}

// Walked the other way, back-sights and fore-sights change places, rises and
// falls too, and the heights stay.
func TestBookReversed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		run := chains(t)
		back := levelling.Run{Start: run.Start, Rows: slices.Clone(run.Rows)}
		slices.Reverse(back.Rows)
		for i := range back.Rows {
			row := &back.Rows[i]
			row.Sight = map[levelling.Sight]levelling.Sight{bs: fs, is: is, fs: bs}[row.Sight]
		}
		there, again := mustBook(t, run), mustBook(t, back)
		want := heights(there)
		slices.Reverse(want)
		if diff := cmp.Diff(want, heights(again), near); diff != "" {
			t.Errorf("heights (-there +back):\n%s", diff)
		}
		sums := []float64{there.SumFS, there.SumBS, there.SumFall, there.SumRise}
		if diff := cmp.Diff(sums, []float64{again.SumBS, again.SumFS, again.SumRise, again.SumFall}, near); diff != "" {
			t.Errorf("sums (-there +back):\n%s", diff)
		}
	})
}

// Any point of the run can carry its height to all the others.
func TestBookFromAnyPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		run := chains(t)
		want := mustBook(t, run)
		from := rapid.SampledFrom(want.Entries).Draw(t, "from")
		run.Start = levelling.Mark{Point: from.Point, Height: from.Height}
		if diff := cmp.Diff(want, mustBook(t, run), near); diff != "" {
			t.Errorf("book from %s (-want +got):\n%s", from.Point, diff)
		}
	})
}

func TestBookAddingAConstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		run := chains(t)
		before := mustBook(t, run)
		rise := rapid.Float64Range(-100, 100).Draw(t, "rise")
		raised := run
		raised.Start.Height += rise
		after := mustBook(t, raised)
		for i := range before.Entries {
			before.Entries[i].HI += rise
			before.Entries[i].Height += rise
		}
		if diff := cmp.Diff(before, after, near); diff != "" {
			t.Errorf("start raised by %v (-want +got):\n%s", rise, diff)
		}
	})
}

// A higher tripod reads more everywhere and changes no height.
func TestBookTripodHeight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		run := chains(t)
		before := heights(mustBook(t, run))
		setup := rapid.SampledFrom(run.Rows).Draw(t, "row").Setup
		higher := rapid.Float64Range(-2, 2).Draw(t, "higher")
		for i := range run.Rows {
			if run.Rows[i].Setup == setup {
				run.Rows[i].Staff += higher
			}
		}
		if diff := cmp.Diff(before, heights(mustBook(t, run)), near); diff != "" {
			t.Errorf("set-up %s higher by %v (-want +got):\n%s", setup, higher, diff)
		}
	})
}

func TestBookScalesWithTheUnit(t *testing.T) {
	const foot = 0.3048
	rapid.Check(t, func(t *rapid.T) {
		feet := chains(t)
		metres := feet
		metres.Start.Height *= foot
		metres.Rows = slices.Clone(feet.Rows)
		for i := range metres.Rows {
			metres.Rows[i].Staff *= foot
		}
		want := heights(mustBook(t, feet))
		for i := range want {
			want[i] *= foot
		}
		if diff := cmp.Diff(want, heights(mustBook(t, metres)), near); diff != "" {
			t.Errorf("heights in m (-want +got):\n%s", diff)
		}
	})
}
