package pictures_test

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"testing"

	"github.com/gen2brain/jpegn"
	"golang.org/x/image/draw"

	"relevel/events"
	"relevel/server/pictures"
)

// samplings are the ways in which cameras keep colour.
var samplings = map[string]jpegn.Subsampling{
	"4:4:4": jpegn.Subsample444, "4:2:2": jpegn.Subsample422, "4:4:0": jpegn.Subsample440, "4:2:0": jpegn.Subsample420,
}

// TestDeriveAsDecoded compares what is made of a photo with what image/jpeg decodes of it,
// made smaller by another filter: at every fraction at which a photo is decoded, however it
// keeps colour, of even and odd lengths.
func TestDeriveAsDecoded(t *testing.T) {
	const size = events.Small
	for name, sampling := range samplings {
		for _, long := range []int{320, 333, 639, 640, 641, 1279, 1283, 2560, 2573} {
			t.Run(fmt.Sprintf("%s of %d", name, long), func(t *testing.T) {
				photo := photoSampled(t, waves(long, long*3/4-1), sampling)
				got := decodeJPEG(t, derive(t, photo, size))
				want := image.NewRGBA(got.Bounds())
				whole := decodeJPEG(t, bytes.NewReader(photo))
				draw.CatmullRom.Scale(want, want.Rect, whole, whole.Bounds(), draw.Src, nil)
				if db := likeness(got, want); db < 34 {
					t.Errorf("it is like the photo by %.1f dB, want 34", db)
				}
			})
		}
	}
}

// TestDeriveUprightSampled has pictures on their side whose colour is kept unequally, and
// whose lengths are odd.
func TestDeriveUprightSampled(t *testing.T) {
	for name, sampling := range samplings {
		for o := uint16(1); o <= 8; o++ {
			stored := photoSampled(t, storedAs(corners(801, 403), int(o)), sampling)
			got := decodeJPEG(t, derive(t, withEXIF(stored, exif(o)), events.Small))
			if size := got.Bounds().Size(); size != image.Pt(320, 161) {
				t.Errorf("%s, orientation %d: size = %v, want 320 × 161", name, o, size)
				continue
			}
			wantCorners(t, got, red, green, blue, yellow)
		}
	}
}

// TestDeriveDamaged has photos whose pixels alone are damaged. Half a picture would be
// taken for a whole one: what image/jpeg does not decode is not shown.
func TestDeriveDamaged(t *testing.T) {
	for name, every := range map[string]int{"in one piece": 0, "with restarts": 40} {
		whole := photoRestarted(t, waves(1600, 1200), every)
		derive(t, whole, events.Small)
		refused := 0
		for what, photo := range damages(whole, every > 0) {
			_, wrong := jpeg.Decode(bytes.NewReader(photo))
			out, err := pictures.NewMaker(0).Derive(t.Context(), bytes.NewReader(photo), events.Small)
			if wrong == nil {
				continue // it has another picture, which is as good as any
			}
			refused++
			if !errors.Is(err, pictures.ErrUnreadable) || out != nil {
				t.Errorf("%s, %s: %d bytes, %v; image/jpeg says %v", name, what, len(out), err, wrong)
			}
		}
		if refused < 40 {
			t.Errorf("%s: image/jpeg refuses %d of these", name, refused)
		}
	}
}

// damages are photos made of a whole one, and what happened to each.
func damages(whole []byte, restarts bool) map[string][]byte {
	scan := bytes.Index(whole, []byte{0xff, 0xda})
	cut := func(from, to int) []byte { return append(bytes.Clone(whole[:from]), whole[to:]...) }
	half := len(whole) / 2
	all := map[string][]byte{
		"cut in half":            whole[:half],
		"cut in half, and ended": cut(half, len(whole)-2),
		"2000 bytes lost":        cut(half, half+2000),
	}
	for i := range 40 {
		at := len(whole)/4 + i*len(whole)/80
		turned := bytes.Clone(whole)
		turned[at] ^= 0x10
		all[fmt.Sprintf("a bit turned at %d", at)] = turned
		all[fmt.Sprintf("512 bytes lost at %d", at)] = cut(at, at+512)
		ones := bytes.Clone(whole)
		copy(ones[at:], bytes.Repeat([]byte{0xfe}, 200))
		all[fmt.Sprintf("no code at %d", at)] = ones
	}
	twice := bytes.Clone(whole)
	twice[scan+9] = twice[scan+7]
	all["a component twice in the scan"] = twice
	if restarts {
		third := scan + bytes.Index(whole[scan:], []byte{0xff, 0xd3})
		fourth := third + bytes.Index(whole[third:], []byte{0xff, 0xd4})
		fifth := fourth + bytes.Index(whole[fourth:], []byte{0xff, 0xd5})
		all["nothing between two restarts"] = cut(third+2, fourth)
		all["a restart lost"] = cut(third, fourth)
		all["what one restart led to, twice"] = append(append(bytes.Clone(whole[:third]), whole[fourth:fifth]...), whole[fourth:]...)
	}
	return all
}

// A plane that is not there is not taken for a colour.
func TestDeriveWithoutRed(t *testing.T) {
	photo := jpegHead(0xc0, 320, 320, 1)
	photo = append(photo, segment(0xdd, 0, 1)...) // a restart behind each block
	photo = append(photo, segment(0xda, 3, 1, 0, 2, 0, 3, 0, 0, 63, 0)...)
	for i := range 40 * 40 {
		photo = append(photo, 0x07, 0xfe, 0xfe, 0xfe, 0xff, byte(0xd0+i%8)) // two blocks and no third
	}
	photo = append(photo, 0xff, 0xd9)
	if out, err := pictures.NewMaker(0).Derive(t.Context(), bytes.NewReader(photo), events.Small); !errors.Is(err, pictures.ErrUnreadable) {
		t.Errorf("%d bytes, %v; want ErrUnreadable", len(out), err)
	}
}

// What a file holds beside a photo, to fill its last blocks, stays out of it: a photo that
// was cut without being decoded has there what was cut away.
func TestDeriveBesideThePhoto(t *testing.T) {
	for _, size := range []image.Point{{2561, 1936}, {1, 2000}, {2561, 3}} {
		stored := image.NewNRGBA(image.Rect(0, 0, up(size.X, 16)*16, up(size.Y, 16)*16))
		draw.Draw(stored, stored.Rect, image.Black, image.Point{}, draw.Src)
		draw.Draw(stored, image.Rectangle{Max: size}, image.White, image.Point{}, draw.Src)
		photo := jpegSaying(jpegOf(t, stored), uint16(size.X), uint16(size.Y))
		got := decodeJPEG(t, derive(t, photo, events.Small))
		want := 245
		if size.X < 8 || size.Y < 8 {
			want = 190 // within a block black shines through: quality 95
		}
		last := got.Bounds().Max.Sub(image.Pt(1, 1))
		if y := color.GrayModel.Convert(got.At(last.X, last.Y)).(color.Gray).Y; int(y) < want {
			t.Errorf("%v: the last pixel has brightness %d, want %d or more", size, y, want)
		}
	}
}

// Very thin photos are decoded and turned like others.
func TestDeriveThin(t *testing.T) {
	for name, sampling := range samplings {
		for _, size := range []image.Point{{1, 1}, {3, 5}, {1, 700}, {700, 1}, {2, 1283}, {7, 2561}, {2561, 7}, {17, 641}, {5121, 1}} {
			m := image.NewNRGBA(image.Rectangle{Max: size})
			draw.Draw(m, m.Rect, image.NewUniform(red), image.Point{}, draw.Src)
			photo := photoSampled(t, m, sampling)
			for o := uint16(1); o <= 8; o++ {
				got := decodeJPEG(t, derive(t, withEXIF(photo, exif(o)), events.Small))
				if long := max(got.Bounds().Dx(), got.Bounds().Dy()); long != min(320, max(size.X, size.Y)) {
					t.Errorf("%s, %v, orientation %d: %v", name, size, o, got.Bounds())
				}
				wantCorners(t, got, red, red, red, red)
			}
		}
	}
}

// waves is a picture like a photo: soft, in all colours, without a straight edge.
func waves(width, height int) *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			u, v := float64(x)/float64(width)*2*math.Pi, float64(y)/float64(height)*2*math.Pi
			m.SetNRGBA(x, y, color.NRGBA{
				R: uint8(128 + 90*math.Sin(3*u+v)), G: uint8(128 + 90*math.Sin(2*v-u)), B: uint8(128 + 90*math.Cos(4*u*v/6)), A: 255,
			})
		}
	}
	return m
}

func photoSampled(t *testing.T, m image.Image, sampling jpegn.Subsampling) []byte {
	t.Helper()
	return photoOf(t, m, jpegn.EncodeOptions{Quality: 92, Subsampling: sampling})
}

// photoRestarted has a restart behind so many units of its codes, or none.
func photoRestarted(t *testing.T, m image.Image, every int) []byte {
	t.Helper()
	return photoOf(t, m, jpegn.EncodeOptions{Quality: 90, RestartInterval: every})
}

func photoOf(t *testing.T, m image.Image, o jpegn.EncodeOptions) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpegn.Encode(&b, m, &o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// likeness is the peak signal to noise ratio of two pictures of one size, over all
// colours, dB.
func likeness(a, b image.Image) float64 {
	var sum, n float64
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			p, q := color.RGBAModel.Convert(a.At(x, y)).(color.RGBA), color.RGBAModel.Convert(b.At(x, y)).(color.RGBA)
			for _, d := range []int{apart(p.R, q.R), apart(p.G, q.G), apart(p.B, q.B)} {
				sum += float64(d * d)
				n++
			}
		}
	}
	return 10 * math.Log10(255*255*n/sum)
}
