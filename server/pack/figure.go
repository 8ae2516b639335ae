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
	printHigh = 300.0
	photoGap  = 12.0
	photoPart = 0.75 // height of a photo's room by its width
)

// drawing puts a drawing on the page, as large as there is room for, with its name
// below it.
func (f *flow) drawing(of Print) {
	d, err := inked.Parse(of.SVG)
	if err != nil {
		f.err = errors.Join(f.err, fmt.Errorf("draw %s: %w", of.Name, err))
		return
	}
	scale := min(f.wide()/d.Wide, printHigh/d.High, mostScale)
	high := d.High * scale
	f.need(high + caption.leading + 10)
	f.gap(6)
	e := f.doc.Root().Add("Figure")
	e.Alt = of.Name + ". " + d.Label
	e.Covers = [4]float64{side, f.y, side + d.Wide*scale, f.y + high}
	f.page.For(e, func() { err = d.Draw(f.page, side, f.y, scale) })
	if err != nil {
		f.err = errors.Join(f.err, fmt.Errorf("draw %s: %w", of.Name, err))
	}
	f.y += high + 4
	f.lines(e.Add("Caption"), caption, side, caption.face.Lines(of.Name, caption.size, f.wide()))
	f.y += 10
}

// pair puts two photos beside each other with one level line across both.
func (f *flow) pair(p answers.Pair) {
	wide := (f.wide() - photoGap) / 2
	high := wide * photoPart
	f.need(third.leading + high + 2*note.leading + 14)
	f.gap(12)
	f.lines(f.doc.Root().Add("P"), third, side, third.face.Lines(f.clip(third, upper(p.Words), f.wide()), third.size, f.wide()))
	f.y += 2
	y := f.y
	var shown [2]*pdf.Element
	for i, one := range []answers.Print{p.Before, p.After} {
		shown[i] = f.photo(one, [4]float64{side + float64(i)*(wide+photoGap), y, wide, high})
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
		f.lines(shown[i].Add("Caption"), note, side+float64(i)*(wide+photoGap), []string{f.clip(note, words, wide)})
	}
	f.y += 2
}

// level draws the line across both prints, with the mark that a levelling staff is
// read at.
func (f *flow) level(y float64) {
	f.page.Stroke(ink)
	f.page.Pen(hairline)
	f.page.Rule(side-12, y, f.paper.Wide-side+12, y)
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
		f.page.Show(i, room[0]+(room[2]-wide)/2, room[1]+(room[3]-high)/2, wide, high)
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
