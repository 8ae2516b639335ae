package pictures

import (
	"bytes"
	"fmt"
	"image"
	"image/color"

	"github.com/gen2brain/jpegn"
)

// A photo of a phone is decoded by jpegn, in a third of the time that image/jpeg takes:
// at an eighth, a quarter or half of its size where that is all that is asked for. jpegn
// gives what it can of a damaged file and does not say so; whatever is not certainly whole
// is left to image/jpeg, and so is what phones do not write.

// decodeFor decodes a photo with at least so many pixels along its long edge as asked for,
// if it has them.
func (p photo) decodeFor(size int) (image.Image, error) {
	if p.isUsual() {
		if planes, ok := p.decodeQuickly(p.denominator(size)); ok {
			return planes, nil
		}
	}
	return p.decode()
}

func (p photo) isUsual() bool {
	return p.outline.baseline && p.outline.ended && p.outline.scans == 1 && p.model == color.YCbCrModel
}

// denominator is how many times smaller a photo may be decoded: 1, 2, 4 or 8.
func (p photo) denominator(size int) int {
	d := 8
	for d > 1 && max(p.width, p.height)/d < size {
		d /= 2
	}
	return d
}

func (p photo) decodeQuickly(denominator int) (*image.YCbCr, bool) {
	decoded, err := jpegn.Decode(bytes.NewReader(p.data), &jpegn.Options{ScaleDenom: denominator})
	planes, ok := decoded.(*image.YCbCr)
	if err != nil || !ok {
		return nil, false
	}
	d := denominator - 1
	if b := planes.Rect; b.Dx() != (p.width+d)/denominator || b.Dy() != (p.height+d)/denominator {
		return nil, false
	}
	return planes, !hasHoles(planes)
}

// hasHoles reports whether something was not decoded. It is nought in all planes then, a
// green so strong that no camera's colours reach it.
func hasHoles(m *image.YCbCr) bool {
	_, cb, cr := planesOf(m)
	for y := range cb.height {
		blue, red := cb.row(y), cr.row(y)
		for x, b := range blue {
			if b == 0 && red[x] == 0 {
				return true
			}
		}
	}
	return false
}

// encode writes a picture as JPEG, with codes made for it: a fifth less to send.
func encode(m image.Image) ([]byte, error) {
	var out bytes.Buffer
	if err := jpegn.Encode(&out, m, &jpegn.EncodeOptions{Quality: quality, OptimizeCoding: true}); err != nil {
		return nil, fmt.Errorf("encode picture: %w", err)
	}
	return out.Bytes(), nil
}
