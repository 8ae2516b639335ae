package server_test

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"strings"
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/server"
)

// smallJPEG is a photo of 640 × 480 pixels.
func smallJPEG(t *testing.T) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, 640, 480))
	for i := range m.Pix {
		m.Pix[i] = uint8(i)
	}
	m.SetGray(0, 0, color.Gray{Y: 255})
	var b bytes.Buffer
	must(t, jpeg.Encode(&b, m, nil))
	return b.Bytes()
}

// smallSound is the boxes of a sound as a phone writes them, without samples.
func smallSound() []byte {
	box := func(kind string, body []byte) []byte {
		b := binary.BigEndian.AppendUint32(nil, uint32(8+len(body)))
		return append(append(b, kind...), body...)
	}
	return append(box("ftyp", []byte("M4A \x00\x00\x02\x00")), box("moov", []byte("....soun....mp4a"))...)
}

func TestPhotoOK(t *testing.T) {
	c := newSite(t).firm("Level Best")
	b := smallJPEG(t)
	path := "/photos/" + sha(b)
	var kept struct {
		SHA256 string
		State  events.FileState
	}
	for range 2 { // a repeat is answered the same
		c.send("PUT", path, b, "Content-Type", "image/jpeg").want(t, 200, &kept)
		if kept.SHA256 != sha(b) || kept.State != events.FileDurable {
			t.Errorf("kept %+v, want it durable", kept)
		}
	}
	c.get(path+"/state", &kept)
	if kept.State != events.FileDurable {
		t.Errorf("state %s, want durable", kept.State)
	}
	for _, original := range []string{path, path + "?size=original"} {
		a := c.send("GET", original, nil).want(t, 200, nil)
		if !bytes.Equal(a.body, b) {
			t.Errorf("GET %s is not what was sent", original)
		}
		wantHeader(t, a, "Content-Type", "image/jpeg")
		wantHeader(t, a, "X-Content-Type-Options", "nosniff")
		wantHeader(t, a, "Content-Security-Policy", "sandbox; default-src 'none'")
		wantHeader(t, a, "Cache-Control", "no-store")
	}
}

func TestPhotoSmaller(t *testing.T) {
	c := newSite(t).firm("Level Best")
	b := smallJPEG(t)
	c.send("PUT", "/photos/"+sha(b), b, "Content-Type", "image/jpeg").want(t, 200, nil)
	for range 2 { // made, then kept
		a := c.send("GET", "/photos/"+sha(b)+"?size=320", nil).want(t, 200, nil)
		m, err := jpeg.Decode(bytes.NewReader(a.body))
		must(t, err)
		if got := m.Bounds().Size(); got != image.Pt(320, 240) {
			t.Errorf("it has %v pixels, want 320 × 240", got)
		}
		wantHeader(t, a, "Cache-Control", "private, max-age=31536000, immutable")
		wantHeader(t, a, "Content-Security-Policy", "sandbox; default-src 'none'")
	}
	c.send("GET", "/photos/"+sha(b)+"?size=640", nil).problem(t, 422, "size")
}

func TestSound(t *testing.T) {
	c := newSite(t).firm("Level Best")
	b := smallSound()
	path := "/photos/" + sha(b)
	c.send("PUT", path+"?type=sound", b, "Content-Type", "audio/mp4").want(t, 200, nil)
	a := c.send("GET", path, nil).want(t, 200, nil)
	if !bytes.Equal(a.body, b) {
		t.Error("the sound is not what was sent")
	}
	wantHeader(t, a, "Content-Type", "audio/mp4")
	if got := a.header.Get("Content-Disposition"); !strings.HasPrefix(got, "attachment") {
		t.Errorf("Content-Disposition = %q, want an attachment", got)
	}
	part := c.send("GET", path, nil, "Range", "bytes=4-7").want(t, 206, nil)
	if string(part.body) != "ftyp" {
		t.Errorf("bytes 4 to 7 are %q", part.body)
	}
	c.send("GET", path+"?size=320", nil).problem(t, 422, "size")
}

// What can be sniffed as a photo and is none is kept as it is, and cannot be
// made smaller.
func TestPhotoUnreadable(t *testing.T) {
	c := newSite(t).firm("Level Best")
	b := append([]byte("\xff\xd8\xff"), bytes.Repeat([]byte("x"), 100)...)
	c.send("PUT", "/photos/"+sha(b), b, "Content-Type", "image/jpeg").want(t, 200, nil)
	c.send("GET", "/photos/"+sha(b)+"?size=320", nil).problem(t, 422, "size")
	c.send("GET", "/photos/"+sha(b), nil).want(t, 200, nil)
}

// A file that rots in the store is never taken for what was sent, and its state
// asks for it again.
func TestPhotoDamaged(t *testing.T) {
	photo, sound := smallJPEG(t), smallSound()
	for name, test := range map[string]struct {
		body         []byte
		media, query string
		cut          bool // the answer has begun by the time it shows
	}{
		"Photo":   {photo, "image/jpeg", "", true},
		"Smaller": {photo, "image/jpeg", "?size=1600", false},
		"Sound":   {sound, "audio/mp4", "", false},
	} {
		t.Run(name, func(t *testing.T) {
			objects := &eventstest.MemObjects{}
			c := newSite(t, func(c *server.Config) { c.Photos.Objects = objects }).firm("Level Best")
			path := "/photos/" + sha(test.body)
			c.send("PUT", path, test.body, "Content-Type", test.media).want(t, 200, nil)
			digest, err := events.ParseDigest(sha(test.body))
			must(t, err)
			rotten := bytes.Clone(test.body)
			rotten[len(rotten)/2] ^= 1
			objects.Replace(events.Key{Firm: c.firm, SHA256: digest}, rotten)

			a, err := c.try(t.Context(), "GET", path+test.query, nil)
			if test.cut && err == nil {
				t.Errorf("%d bytes came whole, want the connection cut", len(a.body))
			}
			if !test.cut {
				must(t, err)
				a.problem(t, 404, "")
			}
			var kept struct{ State events.FileState }
			c.get(path+"/state", &kept)
			if kept.State != events.FileReceived {
				t.Errorf("the state is %s, want it fallen back to received", kept.State)
			}
			c.send("PUT", path, test.body, "Content-Type", test.media).want(t, 200, nil)
			c.send("GET", path+test.query, nil).want(t, 200, nil)
		})
	}
}

func wantHeader(t *testing.T, a answer, name, want string) {
	t.Helper()
	if got := a.header.Get(name); got != want {
		t.Errorf("%s = %q, want %q", name, got, want)
	}
}
