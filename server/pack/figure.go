package pack

import (
	"errors"
	"fmt"

	"relevel/events"
	"relevel/jobs/answers"
	"relevel/server/inked"
	"relevel/server/pdf"
)

// Measures of drawings and photos.
const (
	mostScale = 0.75 // of a drawing: its px are those of a screen, 96 an inch
	sheetGap  = 12.0 // between two that stand beside each other
	photoPart = 0.75 // height of a photo's room by its width
	foot      = 14.0 // below a drawing, beside its name
)

// sheet is a drawing that is laid out: its name in lines, and how large it is.
type sheet struct {
	*inked.Drawing
	name  string
	lines []string
	scale float64
}

// together puts drawings of one thing on one page, as large as it has room for: beside
// each other, or below each other where they come out larger so.
func (f *flow) together(prints []Print, room float64) {
	all := f.sheets(prints)
	if len(all) == 0 {
		return
	}
	beside, below := f.scales(all, room)
	columns, scale := len(all), beside
	if below > beside {
		columns, scale = 1, below
	}
	for i := range all {
		all[i].scale = scale
	}
	f.grid(all, columns)
}

// grid puts drawings into columns, a row never parted by the end of a page.
func (f *flow) grid(all []sheet, columns int) {
	wide := (f.wide() - sheetGap*float64(columns-1)) / float64(columns)
	for len(all) > 0 {
		row := all[:min(columns, len(all))]
		all = all[len(row):]
		high, names := 0.0, 0
		for i := range row {
			row[i].lines = caption.face.Lines(row[i].name, caption.size, wide)
			high, names = max(high, row[i].High*row[i].scale), max(names, len(row[i].lines))
		}
		f.need(high + foot + float64(names)*caption.leading)
		f.gap(6)
		y := f.y
		for i, s := range row {
			f.y = y
			f.drawing(s, side+float64(i)*(wide+sheetGap), y+high)
		}
		f.y = y + high + foot + float64(names)*caption.leading
	}
}

// sheets reads drawings.
func (f *flow) sheets(prints []Print) (all []sheet) {
	for _, p := range prints {
		d, err := inked.Parse(p.SVG)
		if err != nil {
			f.err = errors.Join(f.err, fmt.Errorf("draw %s: %w", p.Name, err))
			continue
		}
		all = append(all, sheet{Drawing: d, name: p.Name})
	}
	return all
}

// scales are the largest scales at which drawings stand in a room beside each other,
// and below each other.
func (f *flow) scales(all []sheet, room float64) (beside, below float64) {
	n := float64(len(all))
	names := n * (foot + caption.leading + 6)
	wide, high, sum := 0.0, 0.0, 0.0
	for _, s := range all {
		wide, high, sum = max(wide, s.Wide), max(high, s.High), sum+s.High
	}
	beside = min(mostScale, (f.wide()-sheetGap*(n-1))/n/wide, (room-names)/high)
	below = min(mostScale, f.wide()/wide, (room-names)/sum)
	return beside, below
}

// drawing draws one with its lower edge at a height and its name below it.
func (f *flow) drawing(s sheet, x, lower float64) {
	e := f.doc.Root().Add("Figure")
	e.Alt = s.name + ". " + s.Label
	y := lower - s.High*s.scale
	e.Covers = [4]float64{x, y, x + s.Wide*s.scale, lower}
	var err error
	f.page.For(e, func() { err = s.Draw(f.page, x, y, s.scale) })
	if err != nil {
		f.err = errors.Join(f.err, fmt.Errorf("draw %s: %w", s.name, err))
	}
	f.y = lower + 4
	f.lines(e.Add("Caption"), caption, x, s.lines)
}

// pair puts two photos beside each other with one level line across both.
func (f *flow) pair(p answers.Pair) {
	wide, high := f.photoRoom()
	f.need(third.leading + high + 2*note.leading + 14)
	f.gap(12)
	f.lines(f.doc.Root().Add("P"), third, side, third.face.Lines(f.clip(third, upper(p.Words), f.wide()), third.size, f.wide()))
	f.y += 2
	y := f.y
	var shown [2]*pdf.Element
	for i, one := range []answers.Print{p.Before, p.After} {
		shown[i] = f.photo(one, [4]float64{side + float64(i)*(wide+sheetGap), y, wide, high})
	}
	level := y + high/2
	f.page.Artifact(func() { f.level(level) })
	f.y = y + high + 3
	for i, one := range []struct {
		stage string
		print answers.Print
	}{{"Before", p.Before}, {"After", p.After}} {
		words := fmt.Sprintf("%s, %s; book line %d", one.stage, day(one.print.Taken), one.print.Seq)
		f.y = y + high + 3
		f.lines(shown[i].Add("Caption"), note, side+float64(i)*(wide+sheetGap), []string{f.clip(note, words, wide)})
	}
	f.y += 2
}

// photoRoom is the room of one photo of a pair, such that three pairs fill a page.
func (f *flow) photoRoom() (wide, high float64) {
	const words = 62.0 // above and below, with the gap between two pairs
	wide = (f.wide() - sheetGap) / 2
	return wide, min(wide*photoPart, f.tall()/3-words)
}

// level draws the line across both prints, with the mark that a levelling staff is
// read at.
func (f *flow) level(y float64) {
	for _, line := range []struct {
		ink  pdf.Colour
		wide float64
	}{{pdf.Colour{R: 255, G: 255, B: 255}, 2}, {ink, 0.7}} { // seen over dark photos too
		f.page.Stroke(line.ink)
		f.page.Pen(line.wide)
		f.page.Rule(side-12, y, f.paper.Wide-side+12, y)
	}
	f.page.Move(side-12, y)
	f.page.Line(side-15, y-5)
	f.page.Line(side-9, y-5)
	f.page.Shut()
	f.page.Fill(ink)
	f.page.Draw(true, false)
}

// photo shows one in its room: left, top, width, height. Where it has not arrived the
// room says so.
func (f *flow) photo(of answers.Print, room [4]float64) *pdf.Element {
	e := f.doc.Root().Add("Figure")
	e.Alt = of.Alt
	e.Covers = [4]float64{room[0], room[1], room[0] + room[2], room[1] + room[3]}
	i, err := f.image(of.SHA256)
	if err != nil {
		f.err = errors.Join(f.err, err)
	}
	f.page.For(e, func() {
		if i == nil {
			f.page.Stroke(faint)
			f.page.Pen(hairline)
			f.page.Rect(room[0], room[1], room[2], room[3])
			f.page.Draw(false, true)
			f.put(note, room[0]+10, room[1]+room[3]/2+3, "This photo is not here.")
			return
		}
		scale := min(room[2]/float64(i.Wide), room[3]/float64(i.High))
		wide, high := float64(i.Wide)*scale, float64(i.High)*scale
		f.page.Show(i, room[0], room[1]+(room[3]-high)/2, wide, high)
	})
	return e
}

// image is a photo of the document, nil where it is not to be had or where pages are
// only counted.
func (f *flow) image(file events.Digest) (*pdf.Image, error) {
	if f.pack.Photo == nil {
		return nil, nil
	}
	if i, known := f.photos[file]; known {
		return i, nil
	}
	b, err := f.pack.Photo(f.ctx, file)
	if errors.Is(err, events.ErrNotFound) {
		f.photos[file] = nil
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read a photo: %w", err)
	}
	i, err := f.doc.JPEG(b)
	if err != nil && !errors.Is(err, pdf.ErrNotShown) {
		return nil, fmt.Errorf("put in a photo: %w", err)
	}
	f.photos[file] = i
	return i, nil
}
