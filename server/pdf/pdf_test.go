package pdf_test

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"relevel/server/pdf"
)

var about = pdf.About{Title: "A floor – “level”", Author: "Levels Ltd", Lang: "en-AU", Producer: "relevel", Made: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)}

// sample is a document with one of everything.
func sample(t *testing.T) []byte {
	t.Helper()
	var out bytes.Buffer
	d := pdf.New(&out, about)
	photo, err := d.JPEG(picture(t))
	if err != nil {
		t.Fatal(err)
	}
	p := d.Page(pdf.A4)
	h := d.Root().Add("H1")
	p.Bookmark(1, "First", 40)
	p.For(h, func() { p.Text(pdf.Bold, 20, 56, 80, "Lift ≥ 3 − ½ … ± × Ōtāhuhu") })
	para := d.Root().Add("P")
	p.For(para, func() { p.Text(pdf.Regular, 10, 56, 110, "Of 李雷 and \u202eevil") })
	fig := d.Root().Add("Figure")
	fig.Alt, fig.Covers = "A photo", [4]float64{56, 130, 156, 230}
	p.For(fig, func() { p.Show(photo, 56, 130, 100, 100) })
	p.Artifact(func() {
		p.Pen(0.5)
		p.Dash(4, 3)
		p.Rule(56, 700, 500, 700)
		p.Within(56, 300, 2, func() { p.Circle(20, 20, 10); p.Fill(pdf.Colour{R: 150}); p.Draw(true, true) })
		p.Halo(pdf.Regular, 12, 60, 400, "12")
	})
	p = d.Page(pdf.Letter)
	p.Bookmark(2, "Second", 40)
	p.Bookmark(1, "Third", 140)
	table := d.Root().Add("Table").Add("TR")
	head, cell := table.Add("TH"), table.Add("TD")
	head.Heads = "Column"
	p.For(head, func() { p.Text(pdf.Italic, 10, 56, 80, "Support") })
	p.For(cell, func() { p.Text(pdf.Regular, 10, 156, 80, "B1-1") })
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func picture(t *testing.T) []byte {
	t.Helper()
	i := image.NewRGBA(image.Rect(0, 0, 40, 30))
	for x := range 40 {
		i.Set(x, 10, color.RGBA{200, 20, 20, 255})
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, i, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func written(t *testing.T, b []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "a.pdf")
	if err := os.WriteFile(name, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// run answers what a program prints, which is to be all right and to warn of nothing.
func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	var says bytes.Buffer
	c := exec.Command(name, args...)
	c.Stderr = &says
	out, err := c.Output()
	if err != nil || says.Len() > 0 {
		t.Fatalf("%s %v: %v\n%s%s", name, args, err, out, &says)
	}
	return string(out)
}

func TestReadersAreContent(t *testing.T) {
	name := written(t, sample(t))
	if got := run(t, "qpdf", "--check", name); !strings.Contains(got, "No syntax or stream encoding errors found") {
		t.Errorf("qpdf says %s", got)
	}
	info := run(t, "pdfinfo", name)
	for _, want := range []string{"A floor – “level”", "Levels Ltd", "Tagged:          yes", "Pages:           2", "PDF version:     1.7"} {
		if !strings.Contains(info, want) {
			t.Errorf("pdfinfo lacks %q:\n%s", want, info)
		}
	}
	run(t, "pdftoppm", "-r", "50", name, filepath.Join(t.TempDir(), "page"))
}

// What is written can be searched, also what is shown as a square.
func TestTextCanBeSearched(t *testing.T) {
	got := run(t, "pdftotext", written(t, sample(t)), "-")
	for _, want := range []string{"Lift ≥ 3 − ½ … ± × Ōtāhuhu", "李雷", "B1-1"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in %q", want, got)
		}
	}
}

func TestFacesAreEmbeddedInPart(t *testing.T) {
	for line := range strings.Lines(run(t, "pdffonts", written(t, sample(t)))) {
		if strings.Contains(line, "+Go") && !strings.Contains(line, "yes yes yes") {
			t.Errorf("not embedded, cut down and readable: %s", line)
		}
	}
}

func TestTreeIsRead(t *testing.T) {
	got := run(t, "pdfinfo", "-struct-text", written(t, sample(t)))
	for _, want := range []string{"Document", "H1", "Figure", "Table", "TR", "TH", "TD"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %s in the tree:\n%s", want, got)
		}
	}
}

func TestSameBytes(t *testing.T) {
	if !bytes.Equal(sample(t), sample(t)) {
		t.Error("the same document was written otherwise")
	}
}

func TestLines(t *testing.T) {
	long := strings.Repeat("w", 200)
	for _, s := range []string{"", " ", "one two three four five six seven", long, "a " + long + " b", "李" + long} {
		lines := pdf.Regular.Lines(s, 10, 100)
		if strings.Join(strings.Fields(strings.Join(lines, "")), "") != strings.ReplaceAll(s, " ", "") {
			t.Errorf("%q lost something: %q", s, lines)
		}
		for _, l := range lines {
			if w := pdf.Regular.Width(l, 10); w > 100 {
				t.Errorf("%q is %.1f wide", l, w)
			}
		}
	}
}

func TestJPEGTellsNothingOfItsPlace(t *testing.T) {
	plain := picture(t)
	exif := append([]byte{0xff, 0xd8, 0xff, 0xe1, 0, 12}, "GPS-CANARY"...)
	file := append(append(exif, plain[2:]...), "CANARY behind the end"...)
	var out bytes.Buffer
	d := pdf.New(&out, about)
	if _, err := d.JPEG(file); err != nil {
		t.Fatal(err)
	}
	if err := d.Close(); err != nil || bytes.Contains(out.Bytes(), []byte("CANARY")) {
		t.Errorf("%v; it is in the document", err)
	}
	if !bytes.Contains(out.Bytes(), plain[2:]) {
		t.Error("the pixels are not")
	}
}

// FuzzJPEG: whatever is said to be a photo, nothing breaks.
func FuzzJPEG(f *testing.F) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 9, 9)), nil); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte{0xff, 0xd8, 0xff, 0xda, 0, 2, 0xff})
	f.Fuzz(func(t *testing.T, file []byte) {
		var out bytes.Buffer
		d := pdf.New(&out, about)
		if i, err := d.JPEG(file); err == nil && (i.Wide == 0 || i.High == 0) {
			t.Error("a photo without a size")
		}
	})
}

// FuzzText: whatever is written, the document can be read, and every letter is there.
func FuzzText(f *testing.F) {
	for _, s := range []string{"plain", "\xff\x00\u202e", "<feff>) Tj ET", "e\u0301 \U0001f600", strings.Repeat("é", 300)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var out bytes.Buffer
		d := pdf.New(&out, pdf.About{Title: s, Author: s, Lang: s, Made: about.Made})
		p := d.Page(pdf.A4)
		p.For(d.Root().Add("P"), func() {
			for i, line := range pdf.Regular.Lines(s, 10, 200) {
				p.Text(pdf.Regular, 10, 20, float64(20+12*i), line)
			}
		})
		p.Bookmark(1, s, 10)
		if err := d.Close(); err != nil {
			t.Fatal(err)
		}
	})
}
