// Package pictures draws what a crew's phone might have seen below a floor, for
// a demo: timber, stumps, staffs, cracks. Each says across its foot that it is
// a demo picture, so that nobody takes it for evidence.
package pictures

import (
	"bytes"
	"fmt"
	"hash/fnv"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
)

// The size of a picture in pixels.
const (
	width  = 960
	height = 720
)

// Scene is one thing to be drawn.
type Scene interface {
	// caption says in a few words what is to be seen.
	caption() string
	paint(c *canvas)
}

// Draw returns a scene as a JPEG. The same scene gives the same bytes.
func Draw(s Scene) ([]byte, error) {
	c := newCanvas(s.caption())
	s.paint(c)
	if err := c.label(s.caption()); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, c.image, &jpeg.Options{Quality: 82}); err != nil {
		return nil, fmt.Errorf("encode a demo picture: %w", err)
	}
	return b.Bytes(), nil
}

// canvas is a picture being drawn.
type canvas struct {
	image *image.RGBA
	rand  *rand.Rand // the same for the same caption
}

func newCanvas(name string) *canvas {
	h := fnv.New64a()
	h.Write([]byte(name))
	return &canvas{
		image: image.NewRGBA(image.Rect(0, 0, width, height)),
		rand:  rand.New(rand.NewPCG(h.Sum64(), 1)),
	}
}

// fill paints a rectangle, each pixel by its own position.
func (c *canvas) fill(r image.Rectangle, shade func(x, y int) color.RGBA) {
	r = r.Intersect(c.image.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			c.image.SetRGBA(x, y, shade(x, y))
		}
	}
}

// flat paints a rectangle in one colour.
func (c *canvas) flat(r image.Rectangle, col color.RGBA) {
	c.fill(r, func(int, int) color.RGBA { return col })
}

// line draws a line of some thickness.
func (c *canvas) line(x0, y0, x1, y1, thick int, col color.RGBA) {
	steps := max(abs(x1-x0), abs(y1-y0), 1)
	for i := 0; i <= steps; i++ {
		x, y := x0+(x1-x0)*i/steps, y0+(y1-y0)*i/steps
		c.flat(image.Rect(x-thick/2, y-thick/2, x+(thick+1)/2, y+(thick+1)/2), col)
	}
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

// dim makes a colour lighter or darker by a share of itself.
func dim(col color.RGBA, by float64) color.RGBA {
	part := func(v uint8) uint8 { return uint8(min(255, max(0, float64(v)*by))) }
	return color.RGBA{part(col.R), part(col.G), part(col.B), 255}
}
