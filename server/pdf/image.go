package pdf

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// Image is a photo that the document holds.
type Image struct {
	Wide, High int // pixels
	id         int
}

// ErrNotShown means that bytes are no JPEG that a page can show.
var ErrNotShown = errors.New("not a JPEG in grey or three colours")

// JPEG puts a photo into the document, its pixels as they are. Whatever else is in the
// file, such as where and when it was taken and with what, stays outside.
func (d *Document) JPEG(file []byte) (*Image, error) {
	plain, head, err := bare(file)
	if err != nil {
		return nil, err
	}
	space := map[int]string{1: "DeviceGray", 3: "DeviceRGB"}[head.parts]
	if space == "" || head.wide == 0 || head.high == 0 || head.bits != 8 {
		return nil, ErrNotShown
	}
	i := &Image{head.wide, head.high, d.reserve()}
	d.stream(i.id, fmt.Sprintf(" /Type /XObject /Subtype /Image /Width %d /Height %d /ColorSpace /%s /BitsPerComponent 8 /Filter /DCTDecode",
		i.Wide, i.High, space), plain)
	return i, d.out.err
}

// jpegHead is what a JPEG says of its pixels.
type jpegHead struct{ wide, high, parts, bits int }

// Markers of a JPEG (ITU-T T.81, table B.1).
const (
	endOfImage  = 0xd9
	startOfScan = 0xda
	appFirst    = 0xe0 // APP0 to APP15
	appAdobe    = 0xee // APP14 says how colours are meant
	appLast     = 0xef
	comment     = 0xfe
)

// bare copies a JPEG without the segments that do not matter for its pixels and
// without what some cameras put behind its end, and reads how large it is.
func bare(file []byte) (plain []byte, head jpegHead, err error) {
	if len(file) < 4 || file[0] != 0xff || file[1] != 0xd8 {
		return nil, head, ErrNotShown
	}
	plain = append(make([]byte, 0, len(file)), 0xff, 0xd8)
	for at := 2; at+2 <= len(file) && file[at] == 0xff; {
		marker := file[at+1]
		if marker == endOfImage {
			return append(plain, 0xff, endOfImage), head, nil
		}
		end, ok := segmentEnd(file, at)
		if !ok {
			break
		}
		segment := file[at:end]
		if isFrame(marker) && len(segment) >= 10 {
			head = jpegHead{int(binary.BigEndian.Uint16(segment[7:])), int(binary.BigEndian.Uint16(segment[5:])), int(segment[9]), int(segment[4])}
		}
		if tells := marker >= appFirst && marker <= appLast && marker != appAdobe || marker == comment; !tells {
			plain = append(plain, segment...)
		}
		at = end
	}
	return nil, head, ErrNotShown
}

// segmentEnd is where the next marker stands: behind a segment by its length, and
// behind a scan where its data end.
func segmentEnd(file []byte, at int) (end int, ok bool) {
	if at+4 > len(file) {
		return 0, false
	}
	end = at + 2 + int(binary.BigEndian.Uint16(file[at+2:]))
	if end < at+4 || end > len(file) {
		return 0, false
	}
	if file[at+1] != startOfScan {
		return end, true
	}
	for ; end+1 < len(file); end++ {
		// Within the data 0xff is followed by a nought or is a mark to start anew from.
		if next := file[end+1]; file[end] == 0xff && next != 0 && (next < 0xd0 || next > 0xd7) {
			return end, true
		}
	}
	return 0, false
}

// isFrame tells the markers that begin a frame: SOF0 to SOF15 without those that
// define tables.
func isFrame(marker byte) bool {
	return marker >= 0xc0 && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 && marker != 0xcc
}
