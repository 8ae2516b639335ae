package pictures

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"

	"golang.org/x/image/webp"

	"relevel/events"
)

// Limits on what is decoded. A phone's photo has 12 million pixels, sometimes
// 48. A progressive JPEG keeps all its coefficients until the last scan, four
// bytes for each sample, and can hold any number of scans of which each goes
// over the whole picture; cameras write none, web sites write about ten scans.
const (
	maxPixels            = 50_000_000
	maxProgressivePixels = 16_000_000
	maxScans             = 100
	maxMemory            = 320 << 20 // of one photo
)

// photo is what is known of a photo before it is decoded.
type photo struct {
	data          []byte
	media         string
	format        format
	width, height int
	model         color.Model
	outline       outline // of a JPEG
}

// format is one decoder: never image.Decode, which takes whatever any package
// of the program has registered.
type format struct {
	config func(io.Reader) (image.Config, error)
	decode func(io.Reader) (image.Image, error)
}

var formats = map[string]format{
	events.MediaJPEG: {jpeg.DecodeConfig, jpeg.Decode},
	events.MediaPNG:  {png.DecodeConfig, png.Decode},
	events.MediaWebP: {webp.DecodeConfig, webp.Decode},
}

// inspect reads the header and refuses what would take too much to decode.
func inspect(data []byte) (p photo, err error) {
	defer func() {
		if r := recover(); r != nil {
			p, err = photo{}, fmt.Errorf("%w: decoder failed: %v", ErrUnreadable, r)
		}
	}()
	p.data, p.media = data, events.Sniff(data)
	var ok bool
	if p.format, ok = formats[p.media]; !ok {
		return photo{}, fmt.Errorf("%w: not a JPEG, PNG or WebP", ErrUnreadable)
	}
	c, err := p.format.config(bytes.NewReader(data))
	if err != nil {
		return photo{}, fmt.Errorf("%w: %w", ErrUnreadable, err)
	}
	p.width, p.height, p.model = c.Width, c.Height, c.ColorModel
	if p.media == events.MediaJPEG {
		p.outline = outlineOf(data)
	}
	if p.outline.scans > maxScans {
		return photo{}, fmt.Errorf("%w: %d scans", ErrUnreadable, p.outline.scans)
	}
	if !p.fits() {
		return photo{}, fmt.Errorf("%w: %d × %d pixels", ErrUnreadable, p.width, p.height)
	}
	return p, nil
}

func (p photo) fits() bool {
	limit := maxPixels
	if p.outline.progressive {
		limit = maxProgressivePixels
	}
	return p.width > 0 && p.height > 0 && p.width <= limit/p.height && p.memory() <= maxMemory
}

// memory estimates what decoding and the first halving take, in bytes.
func (p photo) memory() int64 {
	pixel := int64(4)
	switch p.model {
	case color.YCbCrModel:
		pixel = 3
	case color.GrayModel:
		pixel = 1
	case color.RGBA64Model, color.NRGBA64Model:
		pixel = 8
	}
	if p.outline.progressive {
		pixel += 12 // coefficients of up to three components
	}
	if p.isInterlaced() {
		pixel += pixel / 2 // the last pass is half of the picture, beside it
	}
	pixel++ // half the width, half the height, four bytes
	held := int64(len(p.data))
	if p.outline.usual {
		held += 2 * int64(p.guardedBytes()) // as it is given to the decoder, and the decoder's own copy
	}
	return int64(p.width)*int64(p.height)*pixel + held
}

// isInterlaced reports whether the pixels of a PNG come in seven passes (its
// specification, 11.2.1: the last byte of the header).
func (p photo) isInterlaced() bool {
	const at = 8 + 8 + 12
	return p.media == events.MediaPNG && len(p.data) > at && p.data[at] == 1
}
