package pdf

import (
	"encoding/binary"
	"slices"
)

// kept are the tables that a reader needs of an embedded face (9.9), in the order in
// which a font file lists them.
var kept = []string{"cvt ", "fpgm", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "prep"}

// subset is the file of a face with the drawings of some glyphs alone. They keep
// their numbers, so that no table but two changes.
func (f *typeface) subset(glyphs []uint16) []byte {
	wanted := f.withParts(glyphs)
	var glyf []byte
	count := int(binary.BigEndian.Uint16(f.tables["maxp"][4:]))
	loca := make([]byte, 4*(count+1))
	for g := range count {
		binary.BigEndian.PutUint32(loca[4*g:], uint32(len(glyf)))
		if wanted[uint16(g)] {
			glyf = append(glyf, f.drawing(uint16(g))...)
			glyf = append(glyf, make([]byte, -len(glyf)&3)...)
		}
	}
	binary.BigEndian.PutUint32(loca[4*count:], uint32(len(glyf)))
	tables := map[string][]byte{"glyf": glyf, "loca": loca, "head": slices.Clone(f.tables["head"])}
	binary.BigEndian.PutUint16(tables["head"][50:], 1) // loca has long numbers
	for _, name := range kept {
		if tables[name] == nil {
			tables[name] = f.tables[name]
		}
	}
	return assemble(tables)
}

// drawing is what the face has of one glyph; empty for a space.
func (f *typeface) drawing(g uint16) []byte {
	loca := f.tables["loca"]
	if binary.BigEndian.Uint16(f.tables["head"][50:]) == 0 {
		from, to := binary.BigEndian.Uint16(loca[2*int(g):]), binary.BigEndian.Uint16(loca[2*int(g)+2:])
		return f.tables["glyf"][2*int(from) : 2*int(to)]
	}
	from, to := binary.BigEndian.Uint32(loca[4*int(g):]), binary.BigEndian.Uint32(loca[4*int(g)+4:])
	return f.tables["glyf"][from:to]
}

// Flags of a part of a composite glyph (OpenType, glyf).
const (
	wordArgs  = 0x0001
	hasScale  = 0x0008
	moreParts = 0x0020
	twoScales = 0x0040
	twoByTwo  = 0x0080
)

// withParts adds to glyphs those of which some are put together, and the one that
// stands for all others, which every font has.
func (f *typeface) withParts(glyphs []uint16) map[uint16]bool {
	wanted := map[uint16]bool{}
	todo := append([]uint16{0}, glyphs...)
	for len(todo) > 0 {
		g := todo[0]
		todo = todo[1:]
		if !wanted[g] {
			wanted[g] = true
			todo = append(todo, partsOf(f.drawing(g))...)
		}
	}
	return wanted
}

func partsOf(drawing []byte) (parts []uint16) {
	if len(drawing) < 10 || int16(binary.BigEndian.Uint16(drawing)) >= 0 {
		return nil // it is drawn by itself
	}
	for at := 10; ; {
		flags := binary.BigEndian.Uint16(drawing[at:])
		parts = append(parts, binary.BigEndian.Uint16(drawing[at+2:]))
		at += 6
		if flags&wordArgs != 0 {
			at += 2
		}
		switch {
		case flags&hasScale != 0:
			at += 2
		case flags&twoScales != 0:
			at += 4
		case flags&twoByTwo != 0:
			at += 8
		}
		if flags&moreParts == 0 {
			return parts
		}
	}
}

// assemble puts tables together to a font file, with their sums (OpenType, otff).
func assemble(tables map[string][]byte) []byte {
	n := len(kept)
	power := 1
	for power*2 <= n {
		power *= 2
	}
	out := binary.BigEndian.AppendUint32(nil, 0x00010000)
	for _, v := range []int{n, power * 16, log2(power), (n - power) * 16} {
		out = binary.BigEndian.AppendUint16(out, uint16(v))
	}
	at := len(out) + 16*n
	headAt := 0
	var body []byte
	for _, name := range kept {
		t := tables[name]
		if name == "head" {
			headAt = at
			binary.BigEndian.PutUint32(t[8:], 0)
		}
		out = append(out, name...)
		for _, v := range []uint32{sum32(t), uint32(at), uint32(len(t))} {
			out = binary.BigEndian.AppendUint32(out, v)
		}
		body = append(body, t...)
		body = append(body, make([]byte, -len(t)&3)...)
		at = 12 + 16*n + len(body)
	}
	out = append(out, body...)
	binary.BigEndian.PutUint32(out[headAt+8:], 0xb1b0afba-sum32(out))
	return out
}

func log2(power int) int {
	n := 0
	for ; power > 1; power /= 2 {
		n++
	}
	return n
}

// sum32 adds up a table as numbers of four bytes.
func sum32(b []byte) (sum uint32) {
	for len(b) >= 4 {
		sum += binary.BigEndian.Uint32(b)
		b = b[4:]
	}
	var rest [4]byte
	copy(rest[:], b)
	return sum + binary.BigEndian.Uint32(rest[:])
}
