package sheet

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"

	"relevel/events"
	"relevel/levelling"
)

// classic reads a line of a book with a column for each sight. A backsight begins a
// set-up; a change point has both, the foresight to it first.
func (b *booker) classic(r row) (all []sighted) {
	common := b.common(r)
	b.was.at = common.at
	read := false
	for _, column := range []string{foreSight, intermediate, backSight} {
		if b.text(r, column) == "" {
			continue
		}
		s := common
		s.sight, s.staff, read = column, b.staff(r, column), true
		if column == backSight {
			n, _ := strconv.Atoi(b.was.setup) // the first has none before it
			b.was.setup = strconv.Itoa(n + 1)
		}
		if s.setup = b.was.setup; s.setup == "" {
			b.fault(r, column, "a book begins with a bs on a datum, before anything else is read")
		}
		if s, counts := b.keep(r, s); counts {
			all = append(all, s)
		}
	}
	if !read {
		b.fault(r, backSight, "missing: what the staff reads, as bs, is or fs")
	}
	return all
}

// closeRun tells the foresights that close a set-up from those that are a reading like
// any other, to a change point or the end, and reckons the run as a check.
func (b *booker) closeRun(all []sighted) {
	b.reckon(all)
	type opening struct{ setup, point string }
	opened, turned := map[opening]bool{}, map[string]bool{}
	for _, s := range all {
		if s.sight == backSight {
			opened[opening{s.setup, s.point}] = true
			turned[s.point] = true
		}
	}
	first := ""
	if len(all) > 0 {
		first = all[0].point
	}
	for i := range all {
		s := &all[i]
		closes := opened[opening{s.setup, s.point}] || s.face == "" && (s.point == first || !turned[s.point])
		if s.sight == foreSight && !closes {
			s.sight = intermediate
			b.book.Lines[s.place].Sight = intermediate
		}
	}
}

// reckon reduces the run from its first point, taken as 0.
func (b *booker) reckon(all []sighted) {
	if len(all) == 0 {
		return
	}
	sights := map[string]levelling.Sight{backSight: levelling.BackSight, intermediate: levelling.Intermediate, foreSight: levelling.ForeSight}
	run := levelling.Run{Start: levelling.Mark{Point: all[0].point}}
	for _, s := range all {
		run.Rows = append(run.Rows, levelling.BookRow{Setup: s.setup, Point: s.point, Sight: sights[s.sight], Staff: s.staff.MM()})
	}
	book, err := run.Book()
	if bad, ok := errors.AsType[*levelling.InputError](err); ok {
		line, column := all[0].line, ""
		if m := rowField.FindStringSubmatch(bad.Field); m != nil {
			i, _ := strconv.Atoi(m[1]) // digits
			line, column = all[i].line, m[2]
		}
		b.bad.add(line, column, bad.Cure)
		return
	}
	b.book.Check = checkWords(book)
}

var rowField = regexp.MustCompile(`^rows\[(\d{1,6})\]\.?(.*)$`)

// checkWords is the arithmetic check below the columns of a book.
func checkWords(b levelling.Book) string {
	text := fmt.Sprintf("Sum of bs %s, of fs %s: difference %s mm", levelling.FormatHalfMM(b.SumBS), levelling.FormatHalfMM(b.SumFS), levelling.FormatHalfMM(b.SumBS-b.SumFS))
	if b.Balanced {
		return text + ", as the sum of rises less falls."
	}
	return text + ". The run does not go from bs to fs in one chain, so the sums check nothing; the heights stand."
}

// faceFor is the face of a reading: a datum has none to choose.
func faceFor(s sighted) (events.Face, string) {
	switch s.face {
	case events.FloorFace, events.BearerFace, events.SupportFace:
		return s.face, ""
	}
	return "", "floor, bearer (its underside) or support (its top)"
}
