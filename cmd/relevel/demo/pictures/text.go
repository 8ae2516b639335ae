package pictures

import (
	"fmt"
	"image"
	"image/color"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// parsed is read once; faces of it are made for each picture, since a face is
// not for several goroutines.
var parsed = sync.OnceValues(func() (*opentype.Font, error) { return opentype.Parse(gobold.TTF) })

// text writes a line with its left end on the base line at x, y.
func (c *canvas) text(s string, x, y int, size float64, col color.RGBA) error {
	face, err := newFace(size)
	if err != nil {
		return err
	}
	defer face.Close()
	d := font.Drawer{Dst: c.image, Src: image.NewUniform(col), Face: face, Dot: fixed.P(x, y)}
	d.DrawString(s)
	return nil
}

func newFace(size float64) (font.Face, error) {
	f, err := parsed()
	if err != nil {
		return nil, fmt.Errorf("read the letters: %w", err)
	}
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		return nil, fmt.Errorf("size the letters: %w", err)
	}
	return face, nil
}

// label writes what is seen, and that it is invented, across the foot.
func (c *canvas) label(caption string) error {
	c.flat(image.Rect(0, height-64, width, height), paper)
	c.flat(image.Rect(0, height-64, width, height-61), ink)
	if err := c.text("DEMO PICTURE", 24, height-22, 30, laser); err != nil {
		return err
	}
	return c.text(caption, 290, height-22, 26, ink)
}

// note writes beside what it explains, on a slip of paper.
func (c *canvas) note(s string, x, y int) {
	face, err := newFace(28)
	if err != nil {
		return // label reports it
	}
	defer face.Close()
	w := font.MeasureString(face, s).Ceil()
	c.flat(image.Rect(x-12, y-34, x+w+12, y+14), paper)
	d := font.Drawer{Dst: c.image, Src: image.NewUniform(ink), Face: face, Dot: fixed.P(x, y)}
	d.DrawString(s)
}
