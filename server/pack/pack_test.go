package pack_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
	"relevel/server/pack"
)

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

func file(t *testing.T, b []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "pack.pdf")
	if err := os.WriteFile(name, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// readable has the programs of two other houses read a pack, and returns its text.
func readable(t *testing.T, b []byte) string {
	t.Helper()
	name := file(t, b)
	if got := run(t, "qpdf", "--check", name); !strings.Contains(got, "No syntax or stream encoding errors found") {
		t.Errorf("qpdf says %s", got)
	}
	if got := run(t, "pdfinfo", name); !strings.Contains(got, "Tagged:          yes") {
		t.Errorf("pdfinfo says %s", got)
	}
	run(t, "pdftoppm", "-r", "20", name, filepath.Join(t.TempDir(), "page"))
	return run(t, "pdftotext", "-layout", name, "-")
}

// flat is a text without the breaks of its lines.
func flat(s string) string { return strings.Join(strings.Fields(s), " ") }

func TestPack(t *testing.T) {
	for _, paper := range []pack.Paper{pack.A4, pack.Letter} {
		t.Run(string(paper), func(t *testing.T) {
			k := sample(24, 4)
			k.Paper = paper
			got := flat(readable(t, write(t, k)))
			for _, want := range []string{"14 Wattle Street", "Level Best Restumping", "What is it about wrong?", "Every stump", "B2-12", "accepted by R. Finch",
				"not an engineer’s certificate", "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=", "line 214 of the book", "Before, 20 March 2026", "1 of "} {
				if !strings.Contains(got, want) {
					t.Errorf("%q cannot be found", want)
				}
			}
		})
	}
}

// The pages that are counted without photos are those that there are with them, and
// progress tells them in order.
func TestProgress(t *testing.T) {
	k := sample(60, 9)
	var told []string
	var b bytes.Buffer
	pages, err := k.Write(t.Context(), &b, func(page, of int) { told = append(told, fmt.Sprintf("%d of %d", page, of)) })
	if err != nil || len(told) != pages {
		t.Fatalf("%v: %d pages, told of %d", err, pages, len(told))
	}
	text := run(t, "pdftotext", "-layout", file(t, b.Bytes()), "-")
	for i, page := range strings.Split(strings.TrimSuffix(text, "\f"), "\f") {
		if want := fmt.Sprintf("%d of %d", i+1, pages); told[i] != want || !strings.Contains(page, want) {
			t.Errorf("page %d: told %q, want %q on it", i+1, told[i], want)
		}
	}
}

func TestSameBytes(t *testing.T) {
	if !bytes.Equal(write(t, sample(30, 3)), write(t, sample(30, 3))) {
		t.Error("the same record was written otherwise")
	}
}

func TestNothingRecorded(t *testing.T) {
	a := answers.Of(jobs.New(events.ID{1}), nil, answers.About{Job: jobs.Job{Name: "New job"}, Firm: jobs.Firm{Name: "Level Best"}})
	got := flat(readable(t, write(t, pack.Pack{Account: a, Words: jobs.Australia.Words(), Lang: "en-AU", Paper: pack.A4})))
	for _, want := range []string{"Nothing is recorded yet", "Not recorded:", "was not sealed yet"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in it", want)
		}
	}
}

// The head of the table stands on every page that it goes over, and every support is
// in it once.
func TestFiveHundredSupports(t *testing.T) {
	k := sample(500, 0)
	k.Prints = nil
	text := readable(t, write(t, k))
	pages := 0
	for page := range strings.SplitSeq(text, "\f") {
		if strings.Contains(page, "M. Kowalski") {
			if pages++; !strings.Contains(page, "Survey") || !strings.Contains(page, "Packer") {
				t.Errorf("a page without the head of its table:\n%s", page)
			}
		}
	}
	if pages < 5 {
		t.Errorf("500 supports on %d pages", pages)
	}
	for _, s := range k.Account.Supports {
		if n := strings.Count(text, " "+s.ID+" ") + strings.Count(text, "\n"+s.ID+" "); n != 1 {
			t.Errorf("%s stands in it %d times", s.ID, n)
		}
	}
}

// What the typeface lacks is shown as a square, said, and found by a search; words
// without end stay on the paper.
func TestHostileText(t *testing.T) {
	k := sample(12, 1)
	long := strings.Repeat("W", 900)
	k.Account.Job, k.Account.Firm = "李雷’s <floor> \u202e(gnp.exe) \x00", long
	k.Account.Supports[3].ID, k.Account.Supports[3].Packer = long, strings.Repeat("a packer ", 2000)
	k.Account.Answers[0].Say = []string{long, "", "\n\n", "e\u0301 \U0001f600"}
	k.Account.Pairs[0].Words = long
	k.Account.Words[0].Means = strings.Repeat(long, 4)
	text := readable(t, write(t, k))
	for _, want := range []string{"李雷’s <floor>", "A square", "\U0001f600"} {
		if !strings.Contains(flat(text), want) {
			t.Errorf("%q is not in it", want)
		}
	}
	joined := strings.Join(strings.Fields(text), "")
	if n := strings.Count(joined, "W"); n < 900*6 {
		t.Errorf("%d letters of a long word were lost", 900*6-n)
	}
	if n := strings.Count(text, "packer"); n < 2000 {
		t.Errorf("%d words of a long cell are left", n)
	}
	within(t, write(t, k), pack.A4)
}

// within sees that no word is off the paper.
func within(t *testing.T, b []byte, _ pack.Paper) {
	t.Helper()
	for line := range strings.Lines(run(t, "pdftotext", "-bbox", file(t, b), "-")) {
		var x0, y0, x1, y1 float64
		if _, err := fmt.Sscanf(strings.TrimSpace(line), `<word xMin="%g" yMin="%g" xMax="%g" yMax="%g">`, &x0, &y0, &x1, &y1); err != nil {
			continue
		}
		if x0 < 40 || x1 > 595-40 || y0 < 20 || y1 > 842-15 {
			t.Errorf("off the paper: %s", line)
		}
	}
}

// A photo that has not arrived has its room, with the words why; a store that is away
// ends the writing.
func TestPhotosThatAreNotThere(t *testing.T) {
	k := sample(12, 2)
	k.Photo = func(context.Context, events.Digest) ([]byte, error) { return nil, events.ErrNotFound }
	if got := readable(t, write(t, k)); strings.Count(got, "This photo is not here.") != 4 {
		t.Errorf("nothing said of four photos in %s", got)
	}
	k.Photo = func(context.Context, events.Digest) ([]byte, error) { return nil, events.ErrUnavailable }
	if _, err := k.Write(t.Context(), &bytes.Buffer{}, nil); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("%v, want that the store is away", err)
	}
}

// Whoever stops waiting stops the work.
func TestWriteEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := sample(12, 2).Write(ctx, &bytes.Buffer{}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
