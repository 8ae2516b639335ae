package pictures

import "image"

// turned is how colour is sampled once a picture lies on its side. Of how colour is
// sampled otherwise there are no planes that lie so.
var turned = map[image.YCbCrSubsampleRatio]image.YCbCrSubsampleRatio{
	image.YCbCrSubsampleRatio444: image.YCbCrSubsampleRatio444,
	image.YCbCrSubsampleRatio422: image.YCbCrSubsampleRatio440,
	image.YCbCrSubsampleRatio420: image.YCbCrSubsampleRatio420,
	image.YCbCrSubsampleRatio440: image.YCbCrSubsampleRatio422,
}

// upright turns and mirrors what shrink returned according to an EXIF orientation.
func upright(src image.Image, o int) image.Image {
	if o < 2 || o > 8 {
		return src
	}
	to := src.Bounds()
	if o >= 5 {
		to = image.Rect(0, 0, to.Dy(), to.Dx())
	}
	switch src := src.(type) {
	case *image.YCbCr:
		return uprightPlanes(src, o, to)
	case *image.RGBA:
		dst := image.NewRGBA(to)
		for y := range to.Dy() {
			for x := range to.Dx() {
				dst.SetRGBA(x, y, src.RGBAAt(origin(o, x, y, src.Rect.Max)))
			}
		}
		return dst
	}
	return src
}

// uprightPlanes turns each plane by itself. Where a length is odd colour then lies half a
// sample aside.
func uprightPlanes(src *image.YCbCr, o int, to image.Rectangle) *image.YCbCr {
	ratio := src.SubsampleRatio
	if o >= 5 {
		ratio = turned[ratio]
	}
	return onto(src, image.NewYCbCr(to, ratio), func(p, from plane) { p.turn(from, o) })
}

// turn fills a plane from one as it was stored.
func (p plane) turn(from plane, o int) {
	size := image.Pt(from.width, from.height)
	for y := range p.height {
		line := p.row(y)
		for x := range line {
			column, row := origin(o, x, y, size)
			line[x] = from.pix[row*from.stride+column]
		}
	}
}

// origin is where in a stored picture of a size lies what belongs at x, y once it is
// upright. Each orientation says where row 0 and column 0 of the stored picture lie (EXIF
// 2.32, tag 0x0112).
func origin(o, x, y int, size image.Point) (column, row int) {
	right, bottom := size.X-1, size.Y-1
	switch o {
	case 2: // row 0 top, column 0 right
		return right - x, y
	case 3: // bottom, right
		return right - x, bottom - y
	case 4: // bottom, left
		return x, bottom - y
	case 5: // left, top
		return y, x
	case 6: // right, top
		return y, bottom - x
	case 7: // right, bottom
		return right - y, bottom - x
	case 8: // left, bottom
		return right - y, x
	}
	return x, y
}
