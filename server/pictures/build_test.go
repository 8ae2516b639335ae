package pictures_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"testing"
)

var (
	red    = color.NRGBA{220, 30, 30, 255}
	green  = color.NRGBA{30, 180, 30, 255}
	blue   = color.NRGBA{30, 30, 200, 255}
	yellow = color.NRGBA{230, 220, 40, 255}
	white  = color.NRGBA{255, 255, 255, 255}
)

// corners is a picture with red, green, blue and yellow in its quarters, in the
// order of reading.
func corners(width, height int) *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, width, height))
	paintCorners(m)
	return m
}

func deepCorners(width, height int) *image.NRGBA64 {
	m := image.NewNRGBA64(image.Rect(0, 0, width, height))
	paintCorners(m)
	return m
}

func grayCorners(width, height int) *image.Gray {
	m := image.NewGray(image.Rect(0, 0, width, height))
	paintCorners(m)
	return m
}

func paintCorners(m draw.Image) {
	width, height := m.Bounds().Dx(), m.Bounds().Dy()
	for i, c := range []color.NRGBA{red, green, blue, yellow} {
		quarter := image.Rect(0, 0, (width+1)/2, (height+1)/2).Add(image.Pt(i%2*width/2, i/2*height/2))
		draw.Draw(m, quarter.Intersect(m.Bounds()), image.NewUniform(c), image.Point{}, draw.Src)
	}
}

// wantCorners looks at the middle of each quarter. JPEG loses some colour.
func wantCorners(t *testing.T, m image.Image, want ...color.NRGBA) {
	t.Helper()
	width, height := m.Bounds().Dx(), m.Bounds().Dy()
	for i, w := range want {
		x, y := width/4+i%2*width/2, height/4+i/2*height/2
		got := color.NRGBAModel.Convert(m.At(x, y)).(color.NRGBA)
		if apart(got.R, w.R) > 12 || apart(got.G, w.G) > 12 || apart(got.B, w.B) > 12 {
			t.Errorf("at %d, %d: %v, want %v", x, y, got, w)
		}
	}
}

func apart(a, b uint8) int { return max(int(a)-int(b), int(b)-int(a)) }

func jpegOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// storedAs is m as a camera stores it that notes orientation o: where its row 0
// and column 0 lie when m is looked at (EXIF 2.32, tag 0x0112).
func storedAs(m *image.NRGBA, o int) *image.NRGBA {
	width, height := m.Rect.Dx(), m.Rect.Dy()
	stored := image.NewNRGBA(image.Rect(0, 0, width, height))
	if o >= 5 {
		stored = image.NewNRGBA(image.Rect(0, 0, height, width))
	}
	for row := range stored.Rect.Dy() {
		for col := range stored.Rect.Dx() {
			fromRight, fromBottom := o == 2 || o == 3 || o == 6 || o == 7, o == 3 || o == 4 || o == 7 || o == 8
			x, y := col, row
			if o >= 5 {
				x, y = row, col
			}
			if fromRight {
				x = width - 1 - x
			}
			if fromBottom {
				y = height - 1 - y
			}
			stored.SetNRGBA(col, row, m.NRGBAAt(x, y))
		}
	}
	return stored
}

// segment is one segment of a JPEG.
func segment(marker byte, content ...byte) []byte {
	b := []byte{0xff, marker}
	b = binary.BigEndian.AppendUint16(b, uint16(2+len(content)))
	return append(b, content...)
}

// exif is an APP1 payload with an orientation, a camera and a place.
func exif(orientation uint16) []byte {
	const model, place = "Level Best camera\x00", "S 37 48 51\x00"
	const dataAt = 8 + 2 + 3*12 + 4 // behind the header and IFD0
	gpsAt := uint32(dataAt + len(model))
	b := []byte("Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x03")
	b = appendTag(b, 0x0110, 2, uint32(len(model)), dataAt)
	b = appendTag(b, 0x0112, 3, 1, uint32(orientation)<<16)
	b = appendTag(b, 0x8825, 4, 1, gpsAt)
	b = append(b, 0, 0, 0, 0)
	b = append(b, model...)
	b = append(b, 0, 1)
	b = appendTag(b, 0x0012, 2, uint32(len(place)), gpsAt+2+12+4)
	b = append(b, 0, 0, 0, 0)
	return append(b, place...)
}

func appendTag(b []byte, tag, kind uint16, count, value uint32) []byte {
	b = binary.BigEndian.AppendUint16(b, tag)
	b = binary.BigEndian.AppendUint16(b, kind)
	b = binary.BigEndian.AppendUint32(b, count)
	return binary.BigEndian.AppendUint32(b, value)
}

func withEXIF(jpeg, notes []byte) []byte {
	b := append(bytes.Clone(jpeg[:2]), segment(0xe1, notes...)...)
	return append(b, jpeg[2:]...)
}

// withPNGEXIF puts the notes, without their JPEG heading, behind the header.
func withPNGEXIF(png, notes []byte) []byte {
	const header = 8 + 12 + 13
	b := append(bytes.Clone(png[:header]), pngChunk("eXIf", notes[6:])...)
	return append(b, png[header:]...)
}

func pngChunk(kind string, content []byte) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(content)))
	b = append(append(b, kind...), content...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

// jpegSaying changes the size in the header and nothing else.
func jpegSaying(jpeg []byte, width, height uint16) []byte {
	b := bytes.Clone(jpeg)
	frame := b[bytes.Index(b, []byte{0xff, 0xc0}):]
	binary.BigEndian.PutUint16(frame[5:], height)
	binary.BigEndian.PutUint16(frame[7:], width)
	return b
}

func pngSaying(png []byte, width, height uint32) []byte {
	header := bytes.Clone(png[16:29])
	binary.BigEndian.PutUint32(header, width)
	binary.BigEndian.PutUint32(header[4:], height)
	b := append(bytes.Clone(png[:8]), pngChunk("IHDR", header)...)
	return append(b, png[33:]...)
}

// baselineJPEG is a gray picture in three components, the first of which has
// sampling × sampling blocks to one of each other.
func baselineJPEG(width, height, sampling int) []byte {
	b := jpegHead(0xc0, width, height, sampling)
	b = append(b, segment(0xda, 3, 1, 0, 2, 0, 3, 0, 0, 63, 0)...)
	units := up(width, 8*sampling) * up(height, 8*sampling)
	b = append(b, zeroBits(units*(sampling*sampling+2)*2)...) // DC and end of block, a bit each
	return append(b, 0xff, 0xd9)
}

// progressiveJPEG is a gray picture with one scan for what is constant and
// further ones that add nothing.
func progressiveJPEG(width, height, further int) []byte {
	blocks := up(width, 8) * up(height, 8)
	b := jpegHead(0xc2, width, height, 1)
	b = append(b, segment(0xda, 3, 1, 0, 2, 0, 3, 0, 0, 0, 0)...)
	b = append(b, zeroBits(blocks*3)...)
	for range further {
		b = append(b, segment(0xda, 1, 1, 0, 1, 63, 0)...)
		b = append(b, zeroBits(blocks)...)
	}
	return append(b, 0xff, 0xd9)
}

// jpegHead writes tables in which the one code, a single 0 bit, stands for the
// symbol 0: no difference, and end of block.
func jpegHead(frame byte, width, height, sampling int) []byte {
	b := []byte{0xff, 0xd8}
	b = append(b, segment(0xdb, append([]byte{0}, bytes.Repeat([]byte{1}, 64)...)...)...)
	for _, table := range []byte{0x00, 0x10} {
		codes := make([]byte, 1+16+1)
		codes[0], codes[1] = table, 1
		b = append(b, segment(0xc4, codes...)...)
	}
	return append(b, segment(frame, 8, byte(height>>8), byte(height), byte(width>>8), byte(width),
		3, 1, byte(sampling<<4|sampling), 0, 2, 0x11, 0, 3, 0x11, 0)...)
}

func up(n, size int) int { return (n + size - 1) / size }

func zeroBits(n int) []byte { return make([]byte, up(n, 8)) }

// webpOf is a lossless WebP of one colour.
func webpOf(width, height int) []byte { return riff(riffChunk("VP8L", lossless(width, height))) }

// webpSaying is a WebP of a few bytes that would be decoded to a huge picture.
func webpSaying(width, height int) []byte { return webpOf(width, height) }

// webpInCanvas announces one size and holds another.
func webpInCanvas(canvasWidth, canvasHeight, width, height int) []byte {
	head := make([]byte, 10)
	for i := range 3 {
		head[4+i] = byte((canvasWidth - 1) >> (8 * i))
		head[7+i] = byte((canvasHeight - 1) >> (8 * i))
	}
	return riff(riffChunk("VP8X", head), riffChunk("VP8L", lossless(width, height)))
}

func riff(chunks ...[]byte) []byte {
	content := bytes.Join(chunks, nil)
	b := binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(4+len(content)))
	return append(append(b, "WEBP"...), content...)
}

func riffChunk(kind string, content []byte) []byte {
	b := binary.LittleEndian.AppendUint32([]byte(kind), uint32(len(content)))
	b = append(b, content...)
	if len(b)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// lossless writes a VP8L stream (RFC 9649, section 3) whose five prefix codes
// have one symbol each, so that a pixel takes no bits at all.
func lossless(width, height int) []byte {
	w := bitWriter{}
	w.bits(0x2f, 8)
	w.bits(width-1, 14)
	w.bits(height-1, 14)
	w.bits(0, 1+3)   // no alpha, version 0
	w.bits(0, 1+1+1) // no transform, no colour cache, one set of codes
	for _, symbol := range []int{120, 200, 30, 255} {
		w.bits(1, 1) // simple
		w.bits(0, 1) // one symbol
		w.bits(1, 1) // of eight bits
		w.bits(symbol, 8)
	}
	w.bits(1, 1)
	w.bits(0, 1+1+1)
	return w.out
}

type bitWriter struct {
	out []byte
	n   int
}

func (w *bitWriter) bits(v, n int) {
	for i := range n {
		if w.n%8 == 0 {
			w.out = append(w.out, 0)
		}
		w.out[w.n/8] |= byte(v>>i&1) << (w.n % 8)
		w.n++
	}
}
