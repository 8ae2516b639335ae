package bundle

import "bytes"

// Pack writes entries into a container, for tests that change some.
func Pack(names []string, content map[string][]byte) []byte {
	var b bytes.Buffer
	p := packer{w: &b}
	for _, name := range names {
		p.add(name, content[name])
	}
	p.close()
	return b.Bytes()
}

// Sums is the list of the entries' digests.
func Sums(names []string, content map[string][]byte) []byte {
	var s sums
	for _, name := range names {
		s.add(name, content[name])
	}
	return s.bytes()
}

// End is what closes a container of so many entries.
func End(entries int, at, size uint64) []byte { return end(entries, at, size) }

// PackFrom is the end of a container whose one entry begins at an offset.
func PackFrom(offset uint64, name string, data []byte) []byte {
	var b bytes.Buffer
	p := packer{w: &b, offset: offset}
	p.add(name, data)
	p.close()
	return b.Bytes()
}
