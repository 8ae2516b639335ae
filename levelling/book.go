package levelling

// Sight says what a reading in the level book is for. Its text is the column
// of the book: bs, is or fs.
type Sight int

// The three columns of a level book.
const (
	BackSight    Sight = iota + 1 // the first reading of a set-up, on a point already booked
	Intermediate                  // any reading between
	ForeSight                     // the last reading of a set-up, before the instrument moves
)

func (s Sight) String() string {
	switch s {
	case BackSight:
		return "bs"
	case Intermediate:
		return "is"
	case ForeSight:
		return "fs"
	}
	return "sight"
}

// BookRow is one reading of the staff, from one standing of the instrument.
// A change point takes two rows: the fs of one set-up and the bs of the next.
type BookRow struct {
	Setup string
	Point string
	Sight Sight
	Staff float64 // negative when the staff was held upside down
}

// Mark is a point whose height is known.
type Mark struct {
	Point  string
	Height float64
}

// Run is a level run as booked. All lengths are in one unit, whichever it is.
//
// The first reading of a set-up is its one bs. From the second set-up on, that
// bs stands on a point read in an earlier one; if there are several, the latest
// reading of it counts. A set-up ends with its fs, or is left open.
type Run struct {
	Start Mark  // any point of the run; if it is read more than once, the first reading
	End   *Mark // the point to close on, if one is known; the last reading of it
	Rows  []BookRow
}

// BookEntry is a row reduced.
type BookEntry struct {
	Setup  string
	Point  string
	HI     float64 // the height of the instrument in this set-up
	Height float64 // HI − reading
	First  bool    // the first reading of its set-up: neither rise nor fall
	Change float64 // previous reading of the same set-up − this one; 0 when First
}

// Book is a level run reduced, with one entry a row, in the order of the rows.
type Book struct {
	Entries  []BookEntry
	SumBS    float64
	SumFS    float64
	SumRise  float64
	SumFall  float64
	Balanced bool // ΣBS − ΣFS = Σrise − Σfall = last height − first height

	// Misclosure is computed − known at the end point, nil without one.
	Misclosure *float64
}

// Book reduces the run.
//
// Rise and fall are between two readings that follow each other in one set-up,
// never across a change point. A point read twice in a set-up, as a closing
// reading is, has an entry for each reading. Heights are carried both ways from
// the start, so it may be any point of the run.
//
// The arithmetic check fails, and Balanced is false, for a run that is not one
// chain from its first bs to its last fs: when the last reading is booked as an
// is, or a change point was read as an is. The heights stand all the same.
//
// Errors are InputErrors that name rows[i].field, rows counted from 0.
func (r Run) Book() (Book, error) {
	b := booking{setups: map[string]*standing{}, latest: map[string]float64{}}
	if len(r.Rows) == 0 {
		return Book{}, Bad("rows", "at least one reading, the first a bs")
	}
	for i, row := range r.Rows {
		if err := b.add(i, row); err != nil {
			return Book{}, err
		}
	}
	b.check()
	if err := b.shift(r); err != nil {
		return Book{}, err
	}
	if err := b.close(r.End); err != nil {
		return Book{}, err
	}
	return b.book, nil
}
