package pictures

import "image"

// upright turns and mirrors what shrink returned according to an EXIF orientation.
func upright(src image.Image, o int) image.Image {
	if o < 2 || o > 8 {
		return src
	}
	to := src.Bounds()
	if o >= 5 {
		to = image.Rect(0, 0, to.Dy(), to.Dx())
	}
	if planes, ok := src.(*image.YCbCr); ok {
		// Where a length is odd colour then lies half a sample aside.
		return onto(planes, image.NewYCbCr(to, planes.SubsampleRatio), func(p, from plane) { p.turn(from, o) })
	}
	pixels := src.(*image.RGBA)
	dst := image.NewRGBA(to)
	for y := range to.Dy() {
		for x := range to.Dx() {
			dst.SetRGBA(x, y, pixels.RGBAAt(origin(o, x, y, pixels.Rect.Max)))
		}
	}
	return dst
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
