package pictures

import "image"

// shrinkPlanes is shrink for what was stored as brightness and colour. Of colour it keeps
// a sample for four of brightness, as phones do.
func shrinkPlanes(src *image.YCbCr, size int) *image.YCbCr {
	for longEdge(src.Rect) >= 2*size {
		half := image.Rect(0, 0, max(1, src.Rect.Dx()/2), max(1, src.Rect.Dy()/2))
		src = onto(src, image.NewYCbCr(half, src.SubsampleRatio), plane.average)
	}
	if longEdge(src.Rect) <= size && src.SubsampleRatio == image.YCbCrSubsampleRatio420 {
		return src
	}
	return onto(src, image.NewYCbCr(fitting(src.Rect, size), image.YCbCrSubsampleRatio420), plane.interpolate)
}

// onto fills each plane of one picture from that of another, and returns the first.
func onto(src, dst *image.YCbCr, fill func(to, from plane)) *image.YCbCr {
	y, cb, cr := planesOf(src)
	toY, toCb, toCr := planesOf(dst)
	fill(toY, y)
	fill(toCb, cb)
	fill(toCr, cr)
	return dst
}

// plane is one component of a picture.
type plane struct {
	pix                   []byte
	stride, width, height int
}

func planesOf(p *image.YCbCr) (y, cb, cr plane) {
	b := p.Bounds()
	first, last := p.COffset(b.Min.X, b.Min.Y), p.COffset(b.Max.X-1, b.Max.Y-1)
	height := (last-first)/p.CStride + 1
	width := (last-first)%p.CStride + 1
	y = plane{p.Y[p.YOffset(b.Min.X, b.Min.Y):], p.YStride, b.Dx(), b.Dy()}
	cb = plane{p.Cb[first:], p.CStride, width, height}
	cr = plane{p.Cr[first:], p.CStride, width, height}
	return y, cb, cr
}

func (p plane) row(i int) []byte {
	return p.pix[min(i, p.height-1)*p.stride:][:p.width]
}

// average fills a plane from one of twice its size. Where the sizes do not
// divide, the last row or column of the source stands in for what is missing.
func (p plane) average(from plane) {
	for row := range p.height {
		upper := from.row(2 * row)
		lower := from.row(2*row + 1)
		line := p.row(row)
		whole := min(p.width, from.width/2)
		for i := range whole {
			sum := int(upper[2*i]) + int(upper[2*i+1]) + int(lower[2*i]) + int(lower[2*i+1])
			line[i] = byte((sum + 2) / 4)
		}
		for i := whole; i < p.width; i++ {
			line[i] = byte((int(upper[from.width-1]) + int(lower[from.width-1]) + 1) / 2)
		}
	}
}

// interpolate fills a plane from one of any size, each sample from the four around it,
// in 256ths.
func (p plane) interpolate(from plane) {
	columns := between(from.width, p.width)
	for row, r := range between(from.height, p.height) {
		upper, lower := from.row(r.first), from.row(r.second)
		line := p.row(row)
		for i, c := range columns {
			above := int(upper[c.first])*(256-c.share) + int(upper[c.second])*c.share
			below := int(lower[c.first])*(256-c.share) + int(lower[c.second])*c.share
			line[i] = byte((above*(256-r.share) + below*r.share + 1<<15) >> 16)
		}
	}
}

// place is where a sample lies between two others, nearer to the second the larger the
// share, of 256.
type place struct{ first, second, share int }

// between places the middles of to samples among those of from samples over the same
// length.
func between(from, to int) []place {
	places := make([]place, to)
	for i := range places {
		at := ((2*i+1)*from - to) * 256 / (2 * to) // the middle of the first sample is 0
		at = min(max(at, 0), (from-1)*256)
		places[i] = place{first: at / 256, second: min(at/256+1, from-1), share: at % 256}
	}
	return places
}
