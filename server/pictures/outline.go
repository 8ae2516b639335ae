package pictures

import (
	"bytes"
	"encoding/binary"
	"slices"
)

// Markers of a JPEG (ITU-T T.81, table B.1).
const (
	markerSOF0  = 0xc0 // start of a baseline frame
	markerSOF2  = 0xc2 // start of a progressive frame
	markerDHT   = 0xc4 // Huffman tables
	markerSOF15 = 0xcf // the last of the frames
	markerSOS   = 0xda // start of a scan
	markerEOI   = 0xd9 // end of the image
	markerRST0  = 0xd0 // restarts, up to RST7, carry no length
	markerRST7  = 0xd7
	markerSOI   = 0xd8 // start of the image
	markerTEM   = 0x01
	markerAPP14 = 0xee // what Adobe's programs say of colours
)

// mostEnds is how often codes may end in a photo that is usual: cameras write a restart
// for each row of blocks, or none.
const mostEnds = 20_000

// outline is what the segments of a JPEG say before anything is decoded.
type outline struct {
	progressive bool
	scans       int
	usual       bool  // it is written as cameras write it, as far as can be told
	ends        []int // where its codes end, at each restart and at the end of the image
}

// outlineOf walks the segments of a JPEG. One is usual that has a single scan of a single
// baseline frame, whose restarts are counted as they must be, and its end.
func outlineOf(data []byte) outline {
	w := walk{outline: outline{usual: true}, tables: map[byte]bool{}}
	for at := 0; !w.ended; {
		next := bytes.IndexByte(data[at:], 0xff)
		if next < 0 || at+next+1 >= len(data) {
			break
		}
		at += next + 1
		switch marker := data[at]; {
		case marker == 0xff: // fill byte: look at the next one
			w.wants(w.scans == 0)
		case marker == 0:
			at++ // a stuffed byte
		case marker == markerTEM || marker == markerSOI: // no length either
			w.wants(w.scans == 0)
			at++
		case marker >= markerRST0 && marker <= markerRST7 || marker == markerEOI:
			w.end(at-1, marker)
			at++
		case at+3 > len(data):
			return w.seen()
		default:
			size := int(binary.BigEndian.Uint16(data[at+1:]))
			segment := data[at+1 : min(at+1+size, len(data))]
			w.segment(marker, segment)
			at += 1 + len(segment)
		}
	}
	return w.seen()
}

// walk is how far an outline is known.
type walk struct {
	outline
	frames, restarts int
	ids              [3]byte       // of the frame's components
	tables           map[byte]bool // that were given, by class and number
	ended            bool
}

// wants says what holds of a photo that is usual.
func (w *walk) wants(holds bool) { w.usual = w.usual && holds }

func (w *walk) seen() outline {
	w.wants(w.frames == 1 && w.scans == 1 && w.ended)
	return w.outline
}

// end notes where codes end.
func (w *walk) end(at int, marker byte) {
	if marker == markerEOI {
		w.ended = true
	} else {
		w.wants(int(marker-markerRST0) == w.restarts%8)
		w.restarts++
	}
	w.wants(len(w.ends) < mostEnds)
	if w.usual {
		w.ends = append(w.ends, at)
	}
}

func (w *walk) segment(marker byte, segment []byte) {
	w.wants(w.scans == 0) // nothing follows the codes but the end
	switch {
	case marker == markerSOF0:
		w.frames++
		w.wants(w.isUsualFrame(segment))
	case marker == markerDHT:
		w.noteTables(segment[min(2, len(segment)):])
	case marker == markerSOS:
		w.scans++
		w.wants(w.isUsualScan(segment))
	case marker == markerAPP14:
		w.wants(saysUsualColours(segment))
	case marker > markerSOF0 && marker <= markerSOF15 && marker != markerDHT:
		w.wants(false)
		w.progressive = w.progressive || marker == markerSOF2
	}
}

// saysUsualColours reports whether Adobe's segment says that the components are brightness
// and colour (ITU-T T.872, 6.5.3).
func saysUsualColours(segment []byte) bool {
	const name, transform, toYCC = 2, 2 + 11, 1
	return len(segment) > transform && string(segment[name:name+5]) == "Adobe" && segment[transform] == toYCC
}

// isUsualFrame reports whether a frame has eight bits a sample and three components, not
// named red, green and blue, of which the last two have one sample for each one, two or
// four of the first (T.81, B.2.2).
func (w *walk) isUsualFrame(segment []byte) bool {
	const precision, count, first, each = 2, 7, 8, 3
	if len(segment) != first+3*each || segment[precision] != 8 || segment[count] != 3 {
		return false
	}
	sampling := [3]byte{}
	for i := range sampling {
		w.ids[i], sampling[i] = segment[first+i*each], segment[first+i*each+1]
	}
	switch sampling[0] {
	case 0x11, 0x21, 0x22, 0x12:
		return sampling[1] == 0x11 && sampling[2] == 0x11 && string(w.ids[:]) != "RGB"
	}
	return false
}

// noteTables notes which Huffman tables are given (T.81, B.2.4.2). One for the first
// coefficients has no code for a difference of more than eleven bits (table F.1).
func (w *walk) noteTables(tables []byte) {
	const head, longest = 1 + 16, 11
	for len(tables) >= head {
		size := head
		for _, n := range tables[1:head] {
			size += int(n)
		}
		size = min(size, len(tables))
		w.tables[tables[0]] = true
		tooLong := func(bits byte) bool { return bits > longest }
		w.wants(tables[0]>>4 != 0 || !slices.ContainsFunc(tables[head:size], tooLong))
		tables = tables[size:]
	}
}

// isUsualScan reports whether a scan has all three components in their order, each with
// one of the two pairs of tables that a baseline frame may have and that were given
// (T.81, B.2.3).
func (w *walk) isUsualScan(segment []byte) bool {
	const count, first, each, behind = 2, 3, 2, 3
	if len(segment) != first+3*each+behind || segment[count] != 3 {
		return false
	}
	for i, id := range w.ids {
		dc, ac := segment[first+i*each+1]>>4, segment[first+i*each+1]&0xf
		if segment[first+i*each] != id || dc > 1 || ac > 1 || !w.tables[dc] || !w.tables[0x10|ac] {
			return false
		}
	}
	return w.ids[0] != w.ids[1] && w.ids[1] != w.ids[2] && w.ids[0] != w.ids[2]
}
