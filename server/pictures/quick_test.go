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

// TestDeriveDamaged breaks a photo where only its pixels lie. Half a picture would be
// taken for a whole one, so that there is none.
func TestDeriveDamaged(t *testing.T) {
	m := waves(1600, 1200)
	for name, restarts := range map[string]int{"in one piece": 0, "with restarts": 40} {
		var b bytes.Buffer
		if err := jpegn.Encode(&b, m, &jpegn.EncodeOptions{Quality: 90, RestartInterval: restarts}); err != nil {
			t.Fatal(err)
		}
		derive(t, b.Bytes(), events.Small) // as long as it is whole
		for at := b.Len() / 3; at < b.Len()/3+40; at += 5 {
			photo := bytes.Clone(b.Bytes())
			copy(photo[at:], bytes.Repeat([]byte{0xfe}, 200)) // no code begins with so many ones
			_, err := jpeg.Decode(bytes.NewReader(photo))
			if err == nil {
				t.Fatalf("%s: image/jpeg takes it at %d", name, at)
			}
			out, err := pictures.NewMaker(0).Derive(t.Context(), bytes.NewReader(photo), events.Small)
			if !errors.Is(err, pictures.ErrUnreadable) || out != nil {
				t.Errorf("%s, broken at %d: %d bytes, %v; want ErrUnreadable", name, at, len(out), err)
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
	var b bytes.Buffer
	if err := jpegn.Encode(&b, m, &jpegn.EncodeOptions{Quality: 92, Subsampling: sampling}); err != nil {
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
