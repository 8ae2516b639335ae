package pictures

import (
	"image"
	"image/color"
	"math"
)

// The colours of what is found below a floor and in a room above it.
var (
	hardwood  = color.RGBA{150, 104, 66, 255}
	oldTimber = color.RGBA{104, 84, 66, 255}
	newTimber = color.RGBA{205, 165, 110, 255}
	concrete  = color.RGBA{148, 146, 140, 255}
	earth     = color.RGBA{72, 58, 46, 255}
	plaster   = color.RGBA{222, 216, 202, 255}
	steel     = color.RGBA{92, 100, 108, 255}
	dark      = color.RGBA{22, 20, 19, 255}
	ink       = color.RGBA{24, 24, 26, 255}
	paper     = color.RGBA{244, 242, 234, 255}
	laser     = color.RGBA{214, 48, 40, 255}
)

// grain paints a piece of timber whose fibres run along x, or along y when
// upright, with its edges.
func (c *canvas) grain(r image.Rectangle, col color.RGBA, upright bool) {
	c.fill(r, c.fibres(col, upright))
	c.outline(r)
}

// fibres shades one piece of timber.
func (c *canvas) fibres(col color.RGBA, upright bool) func(x, y int) color.RGBA {
	phase, bend := 6*c.rand.Float64(), 0.006+0.004*c.rand.Float64()
	return func(x, y int) color.RGBA {
		along, across := float64(x), float64(y)
		if upright {
			along, across = across, along
		}
		fibre := math.Sin(across*0.33 + 3*math.Sin(along*bend+phase) + 0.4*math.Sin(across*1.7+along*0.02))
		return dim(col, 0.92+0.1*fibre+c.speck(0.05))
	}
}

// rough paints concrete, earth or plaster.
func (c *canvas) rough(r image.Rectangle, col color.RGBA, how float64) {
	phase := 6 * c.rand.Float64()
	// Most of a picture is rough: a sine a column and a row, and none a pixel.
	var across [width]float64
	var down [height]float64
	for x := range across {
		across[x] = math.Sin(float64(x)*0.021 + phase)
	}
	for y := range down {
		down[y] = math.Sin(float64(y)*0.027 + phase)
	}
	c.fill(r, func(x, y int) color.RGBA {
		cloud := across[x] * down[y]
		return dim(col, 0.95+0.05*cloud+c.speck(how))
	})
}

// gloom paints the dark below a floor, lit from the middle by a lamp.
func (c *canvas) gloom() {
	c.fill(c.image.Rect, func(x, y int) color.RGBA {
		dx, dy := float64(x-width/2)/width, float64(y-height/2)/height
		return dim(color.RGBA{70, 62, 54, 255}, math.Max(0.3, 1-1.6*(dx*dx+dy*dy))+c.speck(0.06))
	})
	c.rough(image.Rect(0, 600, width, height), earth, 0.25)
}

func (c *canvas) outline(r image.Rectangle) {
	c.flat(image.Rect(r.Min.X, r.Min.Y, r.Max.X, r.Min.Y+2), dark)
	c.flat(image.Rect(r.Min.X, r.Max.Y-2, r.Max.X, r.Max.Y), dark)
	c.flat(image.Rect(r.Min.X, r.Min.Y, r.Min.X+2, r.Max.Y), dark)
	c.flat(image.Rect(r.Max.X-2, r.Min.Y, r.Max.X, r.Max.Y), dark)
}

// speck is a small chance difference, at most by either way.
func (c *canvas) speck(by float64) float64 { return by * (2*c.rand.Float64() - 1) }
