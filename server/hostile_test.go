package server_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"relevel/events"
)

// bodies are what a stranger sends in place of what is asked for.
func hostileBodies() map[string][]byte {
	return map[string][]byte{
		"nothing":             nil,
		"NUL":                 make([]byte, 100),
		"deep arrays":         bytes.Repeat([]byte("["), maxHostile),
		"deep objects":        bytes.Repeat([]byte(`{"a":`), maxHostile/5),
		"a wide array":        []byte(`{"events":[` + strings.Repeat("0,", maxHostile/2) + `0]}`),
		"many fields":         []byte(`{` + strings.Repeat(`"a":0,`, maxHostile/6) + `"a":0}`),
		"a number of a month": []byte(`{"events":[` + strings.Repeat("9", maxHostile) + `],"rated_kn":1e999999999}`),
		"gzip":                []byte("\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\x03\xab\x56\x4a\x2d\x4b\xcd\x2b\x29\x56\xb2\x8a\x8e\xad\x05\x00"),
		"UTF-16":              []byte("\xff\xfe{\x00\"\x00a\x00"),
		"half a pair":         []byte(`{"name":"\ud800","text":"\udc00\u0000"}`),
		"two objects":         []byte(`{"name":"a"}{"name":"b"}`),
		"a megabyte too much": make([]byte, 3<<20),
	}
}

const maxHostile = 60_000 // just below what most doors take

// Whatever is sent as a body, each door answers that it is wrong, soon and without an
// internal error. A body is never unpacked.
func TestHostileBodies(t *testing.T) {
	s := newMemorySite(t)
	for name, body := range hostileBodies() {
		for _, d := range doors {
			if strings.HasPrefix(d.route, "GET") {
				continue
			}
			r := s.request(t, d, d.at, body)
			r.Header.Set("Content-Encoding", "gzip")
			if media := d.request().media; strings.Contains(media, "json") {
				r.Header.Set("Content-Type", media)
			}
			w := httptest.NewRecorder()
			s.app.ServeHTTP(w, r)
			if w.Code >= 500 {
				t.Errorf("%s of %s: status %d: %s", d.route, name, w.Code, w.Body)
			}
		}
	}
	if strings.Contains(s.log.String(), "panic") {
		t.Errorf("a bug: %s", s.log)
	}
}

// A form of parts without end is given up, and nothing of it stays on the disk.
func TestHostileParts(t *testing.T) {
	spool := t.TempDir()
	t.Setenv("TMPDIR", spool)
	s := newMemorySite(t)
	part := func(head, body string) string { return "--b\r\n" + head + "\r\n\r\n" + body + "\r\n" }
	file := func(name string) string {
		return `Content-Disposition: form-data; name="photo"; filename="` + name + `"`
	}
	for name, body := range map[string]string{
		"many parts":        strings.Repeat(part(`Content-Disposition: form-data; name="a"`, ""), 20_000),
		"a head of 4 MiB":   part(file("a")+"\r\nX: "+strings.Repeat("x", 4<<20), "x"),
		"many heads":        part(file("a")+strings.Repeat("\r\nX-A: b", 50_000), "x"),
		"a field of 12 MiB": part(`Content-Disposition: form-data; name="text"`, strings.Repeat("x", 12<<20)),
		"no end":            "--b\r\n" + file("a") + "\r\n\r\n" + strings.Repeat("x", 2<<20),
		"a path":            part(file("../../../../etc/passwd"), strings.Repeat("x", 2<<20)) + "--b--",
		"a thousand files":  strings.Repeat(part(file("a"), "\xff\xd8\xff"), 999) + "--b--",
	} {
		for _, route := range []string{"POST /jobs/{job}/record/{kind}", "POST /jobs/{job}/book/import", "POST /jobs/{job}/plan/import"} {
			r := s.request(t, door{route: route, at: strings.Replace(route[len("POST "):], "{kind}", "note", 1)}, strings.Replace(route[len("POST "):], "{kind}", "note", 1), []byte(body))
			r.Header.Set("Content-Type", "multipart/form-data; boundary=b")
			w := httptest.NewRecorder()
			s.app.ServeHTTP(w, r)
			if w.Code < 400 || w.Code >= 500 {
				t.Errorf("%s of %s: status %d: %.300s", route, name, w.Code, w.Body)
			}
		}
	}
	left, err := os.ReadDir(spool)
	must(t, err)
	for _, f := range left {
		if strings.HasPrefix(f.Name(), "multipart-") {
			t.Errorf("%s stays on the disk", f.Name())
		}
	}
}

// A photo that is something else as well is kept as it came, for nothing a phone sent is
// lost, and served so that a browser takes it for nothing but a picture. Of what is made
// of it only pixels are left.
func TestPolyglots(t *testing.T) {
	c := newSite(t).firm("Level Best")
	const script = "<html><script>alert(document.domain)</script>"
	var plain bytes.Buffer
	must(t, png.Encode(&plain, image.NewGray(image.Rect(0, 0, 640, 480))))
	for name, test := range map[string]struct {
		body  []byte
		media string
		shown bool // as a picture
	}{
		"JPEG and a page":       {append(smallJPEG(t), script...), "image/jpeg", true},
		"JPEG with a page":      {append(append([]byte("\xff\xd8\xff\xfe\x00\x30"), (script + "/*")[:46]...), smallJPEG(t)[2:]...), "image/jpeg", true},
		"PNG, ZIP and script":   {append(plain.Bytes(), "PK\x05\x06"+script...), "image/png", true},
		"JPEG of a page":        {[]byte("\xff\xd8\xff" + script), "image/jpeg", false},
		"WebP of a page":        {[]byte("RIFF\x00\x00\x00\x00WEBPVP8 " + script), "image/webp", false},
		"JPEG that breaks off":  {smallJPEG(t)[:300], "image/jpeg", false},
		"PNG that is too large": {append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\xff\xff\xff\x7f\xff\xff\xff\x7f"), script...), "image/png", false},
	} {
		path := "/photos/" + sha(test.body)
		c.send("PUT", path, test.body, "Content-Type", test.media).want(t, http.StatusOK, nil)
		for _, accept := range []string{"text/html", "image/*"} {
			a := c.send("GET", path+"?size=original", nil, "Accept", accept).want(t, http.StatusOK, nil)
			if !bytes.Equal(a.body, test.body) {
				t.Errorf("%s is not what was sent", name)
			}
			for header, want := range map[string]string{"Content-Type": test.media, "X-Content-Type-Options": "nosniff", "Content-Security-Policy": "sandbox; default-src 'none'", "Content-Encoding": ""} {
				wantHeader(t, a, header, want)
			}
		}
		small := c.send("GET", path+"?size=320", nil)
		if !test.shown {
			small.problem(t, http.StatusUnprocessableEntity, "size")
			continue
		}
		if small.want(t, http.StatusOK, nil); bytes.Contains(small.body, []byte("script")) || bytes.Contains(small.body, []byte("PK\x05")) {
			t.Errorf("%s: what is made of it holds more than pixels", name)
		}
	}
}

// What is no photo or sound by its first bytes, or another than it says, is not taken, nor
// what is empty or a byte too long.
func TestNoPhotos(t *testing.T) {
	c := newSite(t).firm("Level Best")
	for name, test := range map[string]struct {
		body   []byte
		media  string
		status int
	}{
		"a page":         {[]byte("<html><script>alert(1)</script>"), "image/jpeg", 422},
		"SVG":            {[]byte("<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>"), "image/svg+xml", 422},
		"SVG as PNG":     {[]byte("<svg xmlns='http://www.w3.org/2000/svg'/>"), "image/png", 422},
		"PDF":            {[]byte("%PDF-1.7"), "application/pdf", 422},
		"GIF":            {[]byte("GIF89a\x01\x00\x01\x00"), "image/gif", 422},
		"PNG as JPEG":    {[]byte("\x89PNG\r\n\x1a\n0000"), "image/jpeg", 422},
		"JPEG as page":   {smallJPEG(t), "text/html", 422},
		"JPEG as sound":  {smallJPEG(t), "audio/mp4", 422},
		"nothing":        {nil, "image/jpeg", 422},
		"16 MiB and one": {append(smallJPEG(t), make([]byte, events.MaxPhotoBytes)...), "image/jpeg", 413},
	} {
		a, err := c.try(t.Context(), "PUT", "/photos/"+sha(test.body), test.body, "Content-Type", test.media)
		if err != nil && test.status == 413 {
			continue // it hung up while we were still sending
		}
		must(t, err)
		if a.status != test.status {
			t.Errorf("%s: status %d: %s", name, a.status, a.body)
		}
		c.send("GET", "/photos/"+sha(test.body), nil).problem(t, http.StatusNotFound, "")
	}
}

// A photo that comes byte by byte is given up when its time is over, and holds no memory
// meanwhile: it lies on the disk.
func TestSlowPhoto(t *testing.T) {
	s := newMemorySite(t)
	r := s.request(t, door{route: "PUT /api/v1/photos/{sha256}", at: "/api/v1/photos/" + sha(smallJPEG(t))}, "/api/v1/photos/"+sha(smallJPEG(t)), nil)
	r.Body, r.ContentLength = io.NopCloser(&trickle{left: smallJPEG(t)[:40]}), 1<<20
	r.Header.Set("Content-Type", "image/jpeg")
	w := httptest.NewRecorder()
	s.app.ServeHTTP(w, r)
	if w.Code < 400 || w.Code == http.StatusInternalServerError {
		t.Errorf("status %d: %s", w.Code, w.Body)
	}
}

// trickle is a body of a byte at a time that then breaks off.
type trickle struct{ left []byte }

func (b *trickle) Read(p []byte) (int, error) {
	if len(b.left) == 0 {
		return 0, fmt.Errorf("the connection is gone: %w", io.ErrUnexpectedEOF)
	}
	time.Sleep(time.Millisecond)
	p[0], b.left = b.left[0], b.left[1:]
	return 1, nil
}
