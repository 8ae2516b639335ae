package calc

import "relevel/levelling"

var book = calculator{
	name:  "book",
	about: "a level run reduced, with its arithmetic check",
	help: `Rows are the readings of the staff in the order they were booked, one reading a row: bs, is or fs.
A set-up begins with its one bs and ends with its fs; from the second on, the bs stands on a point
read before, so a change point has two rows. A staff held upside down reads negative. start may be
any point of the run; end is a point whose height is known, for the misclosure, computed − known.
Each row gets the height of the instrument (hi), its own height, and the rise or fall from the reading
before it in the same set-up, level being a rise of 0. balanced says that Σbs − Σfs = Σrise − Σfall =
last height − first; it is false for a run that does not go from bs to fs in one chain. Everything is
in the unit given: m, ft or mm.
Errors count rows from 0: rows[0] is the first.`,
	example: `{"unit":"m","start":{"point":"TBM","height":50},"end":{"point":"B","height":49.532},` +
		`"rows":[{"setup":"1","point":"TBM","bs":1.4},{"setup":"1","point":"A","is":1.235},{"setup":"1","point":"B","fs":1.87}]}`,
	run: runBook,
}

type bookAnswer struct {
	Points     []bookPoint `json:"points"`
	SumBS      number      `json:"sum_bs"`
	SumFS      number      `json:"sum_fs"`
	SumRise    number      `json:"sum_rise"`
	SumFall    number      `json:"sum_fall"`
	Balanced   bool        `json:"balanced"`
	Misclosure *number     `json:"misclosure,omitempty"`
}

type bookPoint struct {
	Setup  string  `json:"setup"`
	Point  string  `json:"point"`
	HI     number  `json:"hi"`
	Height number  `json:"height"`
	Rise   *number `json:"rise,omitempty"`
	Fall   *number `json:"fall,omitempty"`
}

func runBook(in *object) (any, error) {
	unit := in.choice("unit", "m", "ft", "mm")
	run := levelling.Run{Start: mark(in.object("start", "the point and height the run starts from"))}
	if end := in.objectIf("end", "the point and height the run closes on"); end != nil {
		m := mark(end)
		run.End = &m
	}
	for _, row := range in.objects("rows", "the readings in order, at least one") {
		run.Rows = append(run.Rows, bookRow(row))
	}
	if !in.ok() {
		return nil, nil
	}
	b, err := run.Book()
	if err != nil {
		return nil, err
	}
	return answerBook(b, unit), nil
}

func mark(in *object) levelling.Mark {
	return levelling.Mark{
		Point:  in.text("point", "the name of a point of the run"),
		Height: in.number("height", "its height in the unit of the run"),
	}
}

// bookRow takes one reading. Two in a row are two set-ups booked as one.
func bookRow(in *object) levelling.BookRow {
	row := levelling.BookRow{
		Setup: in.text("setup", "the name of the set-up"),
		Point: in.text("point", "the name of the point"),
	}
	for _, sight := range [...]levelling.Sight{levelling.BackSight, levelling.Intermediate, levelling.ForeSight} {
		staff := in.numberIf(sight.String(), "the reading of the staff in the unit of the run")
		switch {
		case staff == nil:
		case row.Sight != 0:
			in.fail(sight.String(), "left out beside "+row.Sight.String()+": a row is one reading, a change point two rows")
		default:
			row.Sight, row.Staff = sight, *staff
		}
	}
	if row.Sight == 0 {
		in.fail("bs", "the reading of the staff, or is or fs in its place; all three are missing")
	}
	return row
}

func answerBook(b levelling.Book, unit string) bookAnswer {
	length := func(x float64) number { return number{x, 5} }
	if unit == "mm" {
		length = mm
	}
	answer := bookAnswer{
		SumBS: length(b.SumBS), SumFS: length(b.SumFS),
		SumRise: length(b.SumRise), SumFall: length(b.SumFall),
		Balanced: b.Balanced,
	}
	if b.Misclosure != nil {
		miss := length(*b.Misclosure)
		answer.Misclosure = &miss
	}
	for _, e := range b.Entries {
		p := bookPoint{Setup: e.Setup, Point: e.Point, HI: length(e.HI), Height: length(e.Height)}
		switch change := length(e.Change); {
		case e.First:
		case e.Change < 0:
			change.value = -change.value
			p.Fall = &change
		default:
			p.Rise = &change
		}
		answer.Points = append(answer.Points, p)
	}
	return answer
}
