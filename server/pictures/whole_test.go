package pictures_test

import (
	"bytes"
	"errors"
	"image"
	"image/jpeg"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"relevel/events"
	"relevel/server/pictures"
)

func TestWhole(t *testing.T) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 320, 200)), nil); err != nil {
		t.Fatal(err)
	}
	if err := pictures.Whole(bytes.NewReader(b.Bytes()), events.Small); err != nil {
		t.Error(err)
	}
	for name, r := range map[string]io.Reader{
		"Cut":   bytes.NewReader(b.Bytes()[:b.Len()/2]),
		"Empty": strings.NewReader(""),
		"Other": strings.NewReader("a letter"),
	} {
		if err := pictures.Whole(r, events.Small); !errors.Is(err, events.ErrDamaged) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := pictures.Whole(bytes.NewReader(b.Bytes()), 160); !errors.Is(err, events.ErrDamaged) {
		t.Errorf("larger than its size: %v", err)
	}
	away := errors.New("away")
	if err := pictures.Whole(iotest.ErrReader(away), events.Small); !errors.Is(err, away) || errors.Is(err, events.ErrDamaged) {
		t.Errorf("a store that is away: %v", err)
	}
}
