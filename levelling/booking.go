package levelling

import (
	"fmt"
	"math"
)

// standing is what is known of a set-up while its rows are booked.
type standing struct {
	hi     float64
	last   float64 // the reading before
	closed bool    // its fs is booked
}

// booking reduces a run from its first point, taken as zero. The start gives
// the whole run its height at the end, which carries heights backwards as well.
type booking struct {
	book   Book
	setups map[string]*standing
	latest map[string]float64 // the height of each point by its latest reading
	slack  float64            // what rounding alone may put into the sums
}

// add books row i.
func (b *booking) add(i int, row BookRow) error {
	if err := checkRow(i, row); err != nil {
		return err
	}
	s, begun := b.setups[row.Setup]
	entry := BookEntry{Setup: row.Setup, Point: row.Point, First: !begun}
	if begun {
		if err := s.takes(i, row); err != nil {
			return err
		}
		entry.Change = s.last - row.Staff
		entry.Height = s.hi - row.Staff
	} else {
		height, err := b.stand(i, row)
		if err != nil {
			return err
		}
		s = &standing{hi: height + row.Staff}
		b.setups[row.Setup] = s
		entry.Height = height
	}
	entry.HI = s.hi
	s.last, s.closed = row.Staff, row.Sight == ForeSight
	b.latest[row.Point] = entry.Height
	b.sum(row, entry)
	return nil
}

// stand returns the height of the point on which a new set-up takes its bs.
func (b *booking) stand(i int, row BookRow) (float64, error) {
	if row.Sight != BackSight {
		return 0, Bad(column(i, row.Sight),
			fmt.Sprintf("a bs: the first reading of set-up %.60q gives it the height of the instrument", row.Setup))
	}
	if len(b.setups) == 0 {
		return 0, nil
	}
	height, known := b.latest[row.Point]
	if !known {
		return 0, Bad(rowField(i, "point"),
			fmt.Sprintf("a point read in an earlier set-up: nothing ties set-up %.60q to the run", row.Setup))
	}
	return height, nil
}

// takes says whether a set-up already begun can take another row.
func (s *standing) takes(i int, row BookRow) error {
	switch {
	case s.closed:
		return Bad(rowField(i, "setup"),
			fmt.Sprintf("a new name: set-up %.60q ended with its fs; a reading before that is an is", row.Setup))
	case row.Sight == BackSight:
		return Bad(column(i, row.Sight),
			fmt.Sprintf("an is or fs: set-up %.60q has its one bs already", row.Setup))
	}
	return nil
}

// sum adds a row to the columns.
func (b *booking) sum(row BookRow, entry BookEntry) {
	switch row.Sight {
	case BackSight:
		b.book.SumBS += row.Staff
	case ForeSight:
		b.book.SumFS += row.Staff
	}
	if entry.Change >= 0 {
		b.book.SumRise += entry.Change
	} else {
		b.book.SumFall -= entry.Change
	}
	b.slack += float64(math.Abs(row.Staff) * 1e-9)
	b.book.Entries = append(b.book.Entries, entry)
}

// check does the arithmetic check, on heights that are still relative, so that
// a great start height cannot drown a difference.
func (b *booking) check() {
	first, last := b.book.Entries[0], b.book.Entries[len(b.book.Entries)-1]
	sights := b.book.SumBS - b.book.SumFS
	changes := b.book.SumRise - b.book.SumFall
	heights := last.Height - first.Height
	b.book.Balanced = math.Abs(sights-changes) <= b.slack && math.Abs(sights-heights) <= b.slack
}

// shift gives the run the height of its start and refuses what has overflowed.
func (b *booking) shift(r Run) error {
	start := r.Start
	if !finite(start.Height) {
		return Bad("start.height", "a finite height")
	}
	at := b.first(start.Point)
	if at < 0 {
		return Bad("start.point", "a point of the run: no row reads "+quote(start.Point))
	}
	// The difference to the start comes first: its own entry is then exact.
	origin := b.book.Entries[at].Height
	for i := range b.book.Entries {
		e := &b.book.Entries[i]
		e.HI = (e.HI - origin) + start.Height
		e.Height = (e.Height - origin) + start.Height
		if !finite(e.HI, e.Height, e.Change) {
			return Bad(column(i, r.Rows[i].Sight), "a smaller reading: the heights go beyond what a number holds")
		}
	}
	if !finite(b.book.SumBS, b.book.SumFS, b.book.SumRise, b.book.SumFall) {
		return Bad("rows", "smaller readings: their sums go beyond what a number holds")
	}
	return nil
}

// close compares the last reading of the end point with what is known of it.
func (b *booking) close(end *Mark) error {
	if end == nil {
		return nil
	}
	if !finite(end.Height) {
		return Bad("end.height", "a finite height")
	}
	at := b.last(end.Point)
	if at < 0 {
		return Bad("end.point", "a point of the run: no row reads "+quote(end.Point))
	}
	miss := b.book.Entries[at].Height - end.Height
	if !finite(miss) {
		return Bad("end.height", "nearer to the run: the misclosure goes beyond what a number holds")
	}
	b.book.Misclosure = &miss
	return nil
}

// first returns the first entry of a point, -1 without one.
func (b *booking) first(point string) int {
	for i, e := range b.book.Entries {
		if e.Point == point {
			return i
		}
	}
	return -1
}

// last returns the last entry of a point, -1 without one.
func (b *booking) last(point string) int {
	for i := len(b.book.Entries) - 1; i >= 0; i-- {
		if b.book.Entries[i].Point == point {
			return i
		}
	}
	return -1
}

// checkRow refuses a row that cannot stand whatever is around it.
func checkRow(i int, row BookRow) error {
	switch {
	case row.Setup == "":
		return Bad(rowField(i, "setup"), "the name of the set-up")
	case row.Point == "":
		return Bad(rowField(i, "point"), "the name of the point")
	case row.Sight < BackSight || row.Sight > ForeSight:
		return Bad(rowField(i, "bs"), "one reading a row: bs, is or fs")
	case !finite(row.Staff):
		return Bad(column(i, row.Sight), "a finite reading of the staff")
	}
	return nil
}

func column(i int, s Sight) string { return rowField(i, s.String()) }

func rowField(i int, name string) string { return indexed("rows", i, name) }

// indexed names a field of the ith item of a list, as JSON counts.
func indexed(list string, i int, name string) string {
	return fmt.Sprintf("%s[%d].%s", list, i, name)
}

// quote shows a name that somebody typed on one line, cut to a readable length.
func quote(name string) string { return fmt.Sprintf("%.60q", name) }
