package pictures

import (
	"bytes"
	"encoding/binary"
)

// Markers of a JPEG (ITU-T T.81, table B.1).
const (
	markerSOF0 = 0xc0 // start of a baseline frame
	markerSOF2 = 0xc2 // start of a progressive frame
	markerSOS  = 0xda // start of a scan
	markerEOI  = 0xd9 // end of the image
	markerRST0 = 0xd0 // restarts, up to RST7, carry no length
	markerSOI  = 0xd8 // follows the last restart: no length either
	markerTEM  = 0x01
)

// outline is what the segments of a JPEG say before anything is decoded.
type outline struct {
	progressive bool
	baseline    bool // of three components, the last two sampled as cameras do
	ended       bool // the end of the image is there
	scans       int
}

// outlineOf walks the segments of a JPEG.
func outlineOf(data []byte) (o outline) {
	for at := 0; ; {
		next := bytes.IndexByte(data[at:], 0xff)
		if next < 0 || at+next+1 >= len(data) {
			return o
		}
		at += next + 1
		marker := data[at]
		switch {
		case marker == 0xff: // fill byte: look at the next one
			continue
		case marker == 0 || marker == markerTEM || marker >= markerRST0 && marker <= markerSOI:
			at++ // a stuffed byte or a marker without a length
			continue
		case marker == markerEOI:
			o.ended = true
			return o
		case marker == markerSOF0:
			o.baseline = isUsualFrame(data[at+1:])
		case marker == markerSOF2:
			o.progressive = true
		case marker == markerSOS:
			o.scans++
		}
		if at+3 > len(data) {
			return o
		}
		at = min(at+1+int(binary.BigEndian.Uint16(data[at+1:])), len(data))
	}
}

// isUsualFrame reports whether a frame has eight bits a sample and three components of
// which the last two have one sample for each one, two or four of the first (T.81, B.2.2).
func isUsualFrame(segment []byte) bool {
	const precision, count, first, each = 2, 7, 8, 3
	if len(segment) < first+3*each || segment[precision] != 8 || segment[count] != 3 {
		return false
	}
	sampling := func(i int) byte { return segment[first+i*each+1] }
	switch sampling(0) {
	case 0x11, 0x21, 0x22, 0x12:
		return sampling(1) == 0x11 && sampling(2) == 0x11
	}
	return false
}
