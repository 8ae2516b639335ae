package pictures

import (
	"bytes"
	"fmt"
	"image"
	"image/color"

	"github.com/gen2brain/jpegn"
)

// A phone's photo is decoded by jpegn, in a third of the time that image/jpeg takes: at an
// eighth, a quarter or half of its size where that is enough. jpegn gives what it can of a
// damaged file and does not say so. What is not certainly whole is left to image/jpeg,
// and so is what phones do not write.

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

// isUsual holds both decoders to one reading of the file: image/jpeg said that it keeps
// brightness and colour, and its outline leaves jpegn no other.
func (p photo) isUsual() bool { return p.outline.usual && p.model == color.YCbCrModel }

// denominator is how many times smaller a photo may be decoded: 1, 2, 4 or 8, and never
// to nothing.
func (p photo) denominator(size int) int {
	d := 8
	for d > 1 && (max(p.width, p.height)/d < size || min(p.width, p.height) < d) {
		d /= 2
	}
	return d
}

// decodeQuickly is not ok where the photo may be damaged. What does not fill a last sample
// is left out: beside it there the file holds what is not of the photo.
func (p photo) decodeQuickly(denominator int) (smaller image.Image, ok bool) {
	decoded, err := jpegn.Decode(bytes.NewReader(p.guarded()), &jpegn.Options{ScaleDenom: denominator})
	planes, ok := decoded.(*image.YCbCr)
	if err != nil || !ok || hasHoles(planes, 8/denominator) {
		return nil, false
	}
	whole := image.Rect(0, 0, p.width/denominator, p.height/denominator)
	return planes.SubImage(whole), whole.In(planes.Rect)
}

// missing are 64 ones as they stand among codes: no code begins with sixteen of them
// (T.81, annex C).
var missing = bytes.Repeat([]byte{0xff, 0x00}, 8)

// guarded is the file with ones wherever its codes end. Whoever has read all codes passes
// them by; whoever still looks for one, since the file is damaged, stops at them. Only for
// the very last bits before an end may they pass.
func (p photo) guarded() []byte {
	guarded := make([]byte, 0, p.guardedBytes())
	from := 0
	for _, end := range p.outline.ends {
		guarded = append(append(guarded, p.data[from:end]...), missing...)
		from = end
	}
	return append(guarded, p.data[from:]...)
}

func (p photo) guardedBytes() int { return len(p.data) + len(p.outline.ends)*len(missing) }

// hasHoles reports whether a block was not decoded: it is nought then in one plane of
// colour at least. So is the strongest yellow, which is decoded twice for it.
func hasHoles(m *image.YCbCr, block int) bool {
	_, cb, cr := planesOf(m)
	return cb.hasNought(block) || cr.hasNought(block)
}

// hasNought reports whether there is nothing in a whole block.
func (p plane) hasNought(block int) bool {
	for y := 0; y < p.height; y += block {
		for x := 0; x < p.width; x += block {
			if p.row(y)[x] == 0 && p.isNought(x, y, block) {
				return true
			}
		}
	}
	return false
}

func (p plane) isNought(x, y, block int) bool {
	for row := y; row < min(y+block, p.height); row++ {
		if len(bytes.Trim(p.row(row)[x:min(x+block, p.width)], "\x00")) > 0 {
			return false
		}
	}
	return true
}

// encode writes a picture as JPEG, with codes made for it: a fifth less to send.
func encode(m image.Image) ([]byte, error) {
	var out bytes.Buffer
	if err := jpegn.Encode(&out, m, &jpegn.EncodeOptions{Quality: quality, OptimizeCoding: true}); err != nil {
		return nil, fmt.Errorf("encode picture: %w", err)
	}
	return out.Bytes(), nil
}
