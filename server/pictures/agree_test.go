package pictures

import (
	"bytes"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"testing"

	"github.com/gen2brain/jpegn"
)

// TestQuickAgrees breaks small photos in thousands of ways and asks both decoders. What
// image/jpeg refuses is not shown, but where no more is missing than the last bits before
// an end: ones stand there then, and a few of them may make up what the last block lacks.
func TestQuickAgrees(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for name, o := range map[string]jpegn.EncodeOptions{
		"4:2:0 with restarts": {Quality: 60, RestartInterval: 2}, "4:2:0": {Quality: 60},
		"4:2:2": {Quality: 90, Subsampling: jpegn.Subsample422}, "4:4:4 with restarts": {Quality: 90, Subsampling: jpegn.Subsample444, RestartInterval: 7},
	} {
		var whole bytes.Buffer
		if err := jpegn.Encode(&whole, noise(random), &o); err != nil {
			t.Fatal(err)
		}
		refused, shown := 0, 0
		for range 6000 {
			data := broken(random, whole.Bytes())
			p, err := inspect(data)
			if err != nil || !p.isUsual() {
				continue
			}
			_, wrong := jpeg.Decode(bytes.NewReader(data))
			if _, ok := p.decodeQuickly(2); wrong != nil {
				refused++
				if ok {
					shown++
				}
			}
		}
		if refused < 150 || shown*500 > refused {
			t.Errorf("%s: of %d that image/jpeg refuses %d are shown", name, refused, shown)
		}
	}
}

func noise(random *rand.Rand) *image.YCbCr {
	m := image.NewYCbCr(image.Rect(0, 0, 70, 40), image.YCbCrSubsampleRatio420)
	for _, plane := range [][]byte{m.Y, m.Cb, m.Cr} {
		for i := range plane {
			plane[i] = byte(64 + random.IntN(128))
		}
	}
	return m
}

// broken has bits turned, bytes written over and some left out.
func broken(random *rand.Rand, whole []byte) []byte {
	data := bytes.Clone(whole)
	for range 1 + random.IntN(3) {
		at := random.IntN(len(data))
		switch random.IntN(3) {
		case 0:
			data[at] ^= 1 << random.IntN(8)
		case 1:
			data[at] = byte(random.IntN(256))
		default:
			data = append(data[:at], data[min(len(data), at+random.IntN(20)):]...)
		}
	}
	return data
}
