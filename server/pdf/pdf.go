// Package pdf writes PDF documents: real text in embedded subset faces, lines and
// areas, photos, an outline, and the tags by which a document is read aloud or taken
// apart again.
//
// It is our own because what we need is little and what there is lacks half of it:
// the libraries for Go write no tags, embed photos as they come, place and all, and
// the most used one does not write the same bytes twice. Ours writes in one pass, so
// that a document of hundreds of photos is never in memory, and what is written is a
// function of what was drawn: no clock, no chance, no order of a map.
//
// The form is ISO 32000-1 (PDF 1.7). Places on a page are in points from its top left,
// y downwards, as in a drawing.
package pdf

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"strings"
	"time"
	"unicode/utf16"
)

// Paper is the size of a sheet in points, 1/72 inch.
type Paper struct{ Wide, High float64 }

// The papers of offices.
var (
	A4     = Paper{595.28, 841.89}
	Letter = Paper{612, 792}
)

// About is what a document says of itself.
type About struct {
	ID       string // of what it tells: documents of two things are never the same bytes
	Title    string
	Author   string
	Lang     string // by RFC 5646, such as "en-AU"
	Producer string
	Made     time.Time // of the record, not of the clock: the same record gives the same bytes
}

// Document is a PDF that is being written. Its pages are drawn one after the other;
// Close writes what remains. It is no use to several goroutines at once.
type Document struct {
	about   About
	out     sums
	offsets []int64 // of each object, by its number less one
	pages   []int   // the objects
	page    *Page   // that is being drawn
	root    *Element
	parents []pageMarks
	marks   []bookmark
	fonts   []*embedded
	pagesID int
}

// sums counts and hashes what is written, and keeps the first error.
type sums struct {
	w    io.Writer
	hash hash.Hash
	n    int64
	err  error
}

func (s *sums) Write(b []byte) (int, error) {
	if s.err != nil {
		return 0, s.err
	}
	s.hash.Write(b)
	n, err := s.w.Write(b)
	s.n += int64(n)
	s.err = err
	return n, err
}

// New begins a document.
func New(w io.Writer, about About) *Document {
	d := &Document{about: about, out: sums{w: w, hash: sha256.New()}}
	d.root = &Element{doc: d, Tag: "Document"}
	for _, f := range faces {
		d.fonts = append(d.fonts, &embedded{face: f})
	}
	d.pagesID = d.reserve()
	// The second line tells programs that move files that this one is not text.
	d.printf("%%PDF-1.7\n%%\xe2\xe3\xcf\xd3\n")
	return d
}

func (d *Document) printf(format string, args ...any) { fmt.Fprintf(&d.out, format, args...) }

// Err is the first error of writing. Whoever draws much looks at it now and then.
func (d *Document) Err() error { return d.out.err }

// Pages is how many pages were begun.
func (d *Document) Pages() int {
	n := len(d.pages)
	if d.page != nil {
		n++
	}
	return n
}

// reserve takes the number of an object that is written later.
func (d *Document) reserve() int {
	d.offsets = append(d.offsets, 0)
	return len(d.offsets)
}

// object writes one whose number was reserved.
func (d *Document) object(id int, body string) {
	d.offsets[id-1] = d.out.n
	d.printf("%d 0 obj\n%s\nendobj\n", id, body)
}

// add writes an object and returns its number.
func (d *Document) add(body string) int {
	id := d.reserve()
	d.object(id, body)
	return id
}

// stream writes an object with data; dict is the rest of its dictionary.
func (d *Document) stream(id int, dict string, data []byte) {
	d.offsets[id-1] = d.out.n
	d.printf("%d 0 obj\n<<%s /Length %d>>\nstream\n", id, dict, len(data))
	d.out.Write(data)
	d.printf("\nendstream\nendobj\n")
}

// packed writes an object with data that is made small.
func (d *Document) packed(id int, dict string, data []byte) {
	var small bytes.Buffer
	z := zlib.NewWriter(&small)
	z.Write(data) // neither fails: the buffer takes everything
	z.Close()
	d.stream(id, dict+" /Filter /FlateDecode", small.Bytes())
}

// Close ends the last page and writes what the document is held together by.
func (d *Document) Close() error {
	d.endPage()
	d.writeFonts()
	d.object(d.pagesID, fmt.Sprintf("<</Type /Pages /Count %d /Kids [%s]>>", len(d.pages), refs(d.pages)))
	tree := d.writeTree()
	outline := d.writeOutline()
	meta := d.reserve()
	d.stream(meta, " /Type /Metadata /Subtype /XML", []byte(d.about.xmp()))
	catalog := fmt.Sprintf("<</Type /Catalog /Pages %d 0 R /Lang %s /MarkInfo <</Marked true>> /StructTreeRoot %d 0 R /Metadata %d 0 R /ViewerPreferences <</DisplayDocTitle true>>",
		d.pagesID, text(d.about.Lang), tree, meta)
	if outline > 0 {
		catalog += fmt.Sprintf(" /Outlines %d 0 R /PageMode /UseOutlines", outline)
	}
	root := d.add(catalog + ">>")
	info := d.add(d.about.info())
	d.writeEnd(root, info)
	return d.out.err
}

// writeEnd writes the table of where each object is, and the trailer.
func (d *Document) writeEnd(root, info int) {
	id := hex.EncodeToString(d.out.hash.Sum(nil)[:16])
	from := d.out.n
	d.printf("xref\n0 %d\n0000000000 65535 f \n", len(d.offsets)+1)
	for _, at := range d.offsets {
		d.printf("%010d 00000 n \n", at)
	}
	d.printf("trailer\n<</Size %d /Root %d 0 R /Info %d 0 R /ID [<%s> <%s>]>>\nstartxref\n%d\n%%%%EOF\n",
		len(d.offsets)+1, root, info, id, id, from)
}

// refs writes references to objects.
func refs(ids []int) string {
	var b strings.Builder
	for i, id := range ids {
		if i > 0 {
			b.WriteByte(' ')
		}
		fmt.Fprintf(&b, "%d 0 R", id)
	}
	return b.String()
}

// text writes a text of the document's own parts, in UTF-16 as 7.9.2.2 has it, so
// that nothing in it is to be escaped.
func text(s string) string {
	var b strings.Builder
	b.WriteString("<feff")
	for _, u := range utf16.Encode([]rune(s)) {
		fmt.Fprintf(&b, "%04x", u)
	}
	return b.String() + ">"
}
