package bundle

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"io"
	"math"
)

// The container is a zip (PKWARE APPNOTE 6.3) of one form only: entries are stored as
// they are, one after the other, with nothing before, between or after them; no entry
// has a time, an extra field or a comment. So a reader who has seen the entries can
// write the rest of the file himself and compare: there is no byte in it that says
// nothing. Above what 32 bits hold, the zip64 records of the same document are used,
// and only then.
const (
	localMark    = 0x04034b50
	centralMark  = 0x02014b50
	endMark      = 0x06054b50
	end64Mark    = 0x06064b50
	locatorMark  = 0x07064b50
	localBytes   = 30
	plainVersion = 10     // of the format that is needed to read an entry
	wideVersion  = 45     // likewise, with zip64
	noDay        = 0x0021 // 1 January 1980, the first day that the format knows
)

// record is what the container says of one entry.
type record struct {
	name   string
	crc    uint32
	size   uint32
	offset uint64 // of its local header
}

// local is the header that stands before the entry's bytes.
func (r record) local() []byte {
	b := make([]byte, 0, localBytes+len(r.name))
	b = binary.LittleEndian.AppendUint32(b, localMark)
	b = r.common(b, plainVersion)
	b = append16(b, 0) // no extra field
	return append(b, r.name...)
}

// common is what both headers of an entry say.
func (r record) common(b []byte, version uint16) []byte {
	b = append16(b, version, 0, 0, 0, noDay) // no flags, stored, midnight
	b = binary.LittleEndian.AppendUint32(b, r.crc)
	b = binary.LittleEndian.AppendUint32(b, r.size)
	b = binary.LittleEndian.AppendUint32(b, r.size)
	return append16(b, uint16(len(r.name)))
}

// central is the entry's line in the table of contents.
func (r record) central() []byte {
	version, offset, extra := uint16(plainVersion), uint32(r.offset), []byte(nil)
	if r.offset >= math.MaxUint32 {
		version, offset = wideVersion, math.MaxUint32
		extra = append16(extra, 1, 8)
		extra = binary.LittleEndian.AppendUint64(extra, r.offset)
	}
	b := binary.LittleEndian.AppendUint32(nil, centralMark)
	b = append16(b, version)
	b = r.common(b, version)
	b = append16(b, uint16(len(extra)), 0, 0, 0, 0, 0) // no comment, first disk, no attributes
	b = binary.LittleEndian.AppendUint32(b, offset)
	return append(append(b, r.name...), extra...)
}

// end is what closes a container whose table of contents lies at an offset.
func end(entries int, at, size uint64) []byte {
	var b []byte
	if entries >= math.MaxUint16 || at >= math.MaxUint32 || size >= math.MaxUint32 {
		b = wideEnd(b, uint64(entries), at, size)
	}
	count := uint16(min(entries, math.MaxUint16))
	b = binary.LittleEndian.AppendUint32(b, endMark)
	b = append16(b, 0, 0, count, count)
	b = binary.LittleEndian.AppendUint32(b, uint32(min(size, math.MaxUint32)))
	b = binary.LittleEndian.AppendUint32(b, uint32(min(at, math.MaxUint32)))
	return append16(b, 0)
}

func wideEnd(b []byte, entries, at, size uint64) []byte {
	b = binary.LittleEndian.AppendUint32(b, end64Mark)
	b = binary.LittleEndian.AppendUint64(b, 44) // bytes that follow
	b = append16(b, wideVersion, wideVersion, 0, 0, 0, 0)
	for _, v := range []uint64{entries, entries, size, at} {
		b = binary.LittleEndian.AppendUint64(b, v)
	}
	b = binary.LittleEndian.AppendUint32(b, locatorMark)
	b = binary.LittleEndian.AppendUint32(b, 0)
	b = binary.LittleEndian.AppendUint64(b, at+size)
	return binary.LittleEndian.AppendUint32(b, 1)
}

func append16(b []byte, values ...uint16) []byte {
	for _, v := range values {
		b = binary.LittleEndian.AppendUint16(b, v)
	}
	return b
}

// packer writes a container.
type packer struct {
	w       io.Writer
	offset  uint64
	entries []record
	err     error // the first one; nothing is written after it
}

// add writes one entry, whose bytes fit into memory.
func (p *packer) add(name string, data []byte) {
	r := record{name: name, crc: crc32.ChecksumIEEE(data), size: uint32(len(data)), offset: p.offset}
	p.entries = append(p.entries, r)
	p.write(r.local())
	p.write(data)
}

func (p *packer) write(b []byte) {
	if p.err != nil {
		return
	}
	n, err := p.w.Write(b)
	p.offset += uint64(n)
	p.err = err
}

// close writes the table of contents.
func (p *packer) close() error {
	at := p.offset
	for _, r := range p.entries {
		p.write(r.central())
	}
	p.write(end(len(p.entries), at, p.offset-at))
	return p.err
}

// unpacker reads a container from its front to its end, once.
type unpacker struct {
	r       io.Reader
	offset  uint64
	entries []record
	crc     uint32 // of the entry that was read last
}

// crooked is a container that is not of the one form. After it nothing more of the
// file can be told apart.
type crooked struct {
	entry string // at which, or behind which
	what  string
}

func (c crooked) Error() string { return c.entry + ": " + c.what }

// next reads the header of the next entry; io.EOF means that the table of contents
// begins, of which the first four bytes were read.
func (u *unpacker) next() (record, error) {
	mark, err := u.take(4)
	if err != nil {
		return record{}, u.cut(err)
	}
	if binary.LittleEndian.Uint32(mark) == centralMark {
		return record{}, io.EOF
	}
	rest, err := u.take(localBytes - 4)
	if err != nil {
		return record{}, u.cut(err)
	}
	name, err := u.take(int(min(binary.LittleEndian.Uint16(rest[22:]), maxName)))
	if err != nil {
		return record{}, u.cut(err)
	}
	r := record{name: string(name), crc: binary.LittleEndian.Uint32(rest[10:]), size: binary.LittleEndian.Uint32(rest[14:])}
	r.offset = u.offset - localBytes - uint64(len(name))
	if was := append(append(mark, rest...), name...); !bytes.Equal(was, r.local()) {
		return record{}, crooked{u.last(), "the header of what follows it, " + plainName(r.name) + ", is not as it is written"}
	}
	u.entries = append(u.entries, r)
	return r, nil
}

// data reads the bytes of the entry whose header was read. It takes memory as bytes
// come, whatever the header says.
func (u *unpacker) data(r record, most int64) ([]byte, error) {
	if int64(r.size) > most {
		return nil, crooked{plainName(r.name), "it is larger than anything of its kind can be"}
	}
	var b bytes.Buffer
	n, err := io.CopyN(&b, u.r, int64(r.size))
	u.offset += uint64(n)
	if err != nil {
		return nil, u.cut(err)
	}
	u.crc = crc32.ChecksumIEEE(b.Bytes())
	return b.Bytes(), nil
}

// close compares the table of contents, of which four bytes were read, with what it
// has to be. It names the first entry whose line is another.
func (u *unpacker) close() error {
	at, mark := u.offset-4, 4
	for _, r := range u.entries {
		want := r.central()
		got, err := u.take(len(want) - mark)
		if err != nil {
			return u.cut(err)
		}
		if !bytes.Equal(got, want[mark:]) {
			return crooked{plainName(r.name), "its line in the zip's table of contents was changed"}
		}
		mark = 0
	}
	want := end(len(u.entries), at, u.offset-at)
	got, err := u.take(len(want))
	if err != nil {
		return u.cut(err)
	}
	if !bytes.Equal(got, want) {
		return crooked{contents, "the end of the zip was changed"}
	}
	if n, _ := io.CopyN(io.Discard, u.r, 1); n > 0 {
		return crooked{contents, "more follows after the end of the zip"}
	}
	return nil
}

// contents is how the table of contents is called in what people read.
const contents = "the zip's table of contents"

func (u *unpacker) take(n int) ([]byte, error) {
	b := make([]byte, n)
	n, err := io.ReadFull(u.r, b)
	u.offset += uint64(n)
	return b, err
}

// cut is the error of a container that ends too early; others are the reader's own.
func (u *unpacker) cut(err error) error {
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		return crooked{u.last(), "the file ends in it, or right after it"}
	}
	return err
}

func (u *unpacker) last() string {
	if len(u.entries) == 0 {
		return readmeName
	}
	return plainName(u.entries[len(u.entries)-1].name)
}
