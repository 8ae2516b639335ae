package icalendar_test

import (
	"bytes"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"

	"relevel/server/icalendar"
)

var written = time.Date(2026, 3, 2, 9, 30, 0, 0, time.FixedZone("", 11*3600))

func feed(events ...icalendar.Event) icalendar.Calendar {
	return icalendar.Calendar{Name: "Crew North; Level & Sons", Maker: "relevel", Events: events}
}

// nasty is what people may write.
const nasty = "stump, pier; pad\\post\r\nsecond line\nthird \x00\x07 ü 木造の床を水平に戻す仕事 " +
	"and so long that the line has to be folded more than once between its letters, not within one"

// Every line ends with CRLF, none has more than 75 octets, and none is cut within a letter.
func TestLines(t *testing.T) {
	out := feed(icalendar.Event{UID: "a@relevel", Changed: written, First: "2026-03-02", Last: "2026-03-06", Summary: nasty, Description: nasty, Location: nasty}).Write()
	if !bytes.HasSuffix(out, []byte("END:VCALENDAR\r\n")) {
		t.Errorf("it ends %q", out[len(out)-30:])
	}
	for _, line := range bytes.Split(bytes.TrimSuffix(out, []byte("\r\n")), []byte("\r\n")) {
		if len(line) > 75 || !utf8.Valid(line) || bytes.ContainsAny(line, "\r\n\x00\x07") || len(line) == 0 {
			t.Errorf("line of %d octets: %q", len(line), line)
		}
	}
}

// Another program reads what was written.
func TestRead(t *testing.T) {
	out := feed(
		icalendar.Event{UID: "days@relevel", Changed: written, Revision: 3, First: "2026-02-27", Last: "2026-03-01", Summary: nasty, URL: "https://relevel.example/jobs/1"},
		icalendar.Event{UID: "moment@relevel", Changed: written, At: written, Summary: "inspection"},
		icalendar.Event{UID: "wrong@relevel", Changed: written, First: "2026-03-02", Last: "2026-03-01"},
		icalendar.Event{UID: "none@relevel", Changed: written, First: "soon", Last: "2026-03-01"},
	).Write()
	c, err := ics.ParseCalendar(bytes.NewReader(out))
	if err != nil {
		t.Fatalf("%v in\n%s", err, out)
	}
	events := c.Events()
	if len(events) != 2 {
		t.Fatalf("%d events, want 2 in\n%s", len(events), out)
	}
	want := map[ics.ComponentProperty]string{
		ics.ComponentPropertyUniqueId: "days@relevel", ics.ComponentPropertyDtstamp: "20260301T223000Z",
		ics.ComponentPropertyDtStart: "20260227", ics.ComponentPropertyDtEnd: "20260302", ics.ComponentPropertySequence: "3",
		ics.ComponentPropertyUrl:     "https://relevel.example/jobs/1",
		ics.ComponentPropertySummary: strings.NewReplacer("\r\n", "\n", "\x00", "", "\x07", "").Replace(nasty),
	}
	for name, text := range want {
		got := events[0].GetProperty(name)
		if got == nil || got.Value != text {
			t.Errorf("%s = %+v, want %q", name, got, text)
		}
	}
	if at, err := events[1].GetStartAt(); err != nil || !at.Equal(written) {
		t.Errorf("the moment is %v, %v, want %v", at, err, written)
	}
	for _, need := range []string{"VERSION:2.0\r\n", "PRODID:-//relevel//EN\r\n", "DTSTART;VALUE=DATE:20260227\r\n", `SUMMARY:stump\, pier\; pad\\post\nsecond`} {
		if !strings.Contains(string(out), need) {
			t.Errorf("%q is missing in\n%s", need, out)
		}
	}
}

// Whatever is written in a name, the feed keeps its form.
func FuzzWrite(f *testing.F) {
	f.Add(nasty)
	f.Add("\xff\xfeEND:VEVENT\r\nBEGIN:VALARM")
	f.Fuzz(func(t *testing.T, text string) {
		out := feed(icalendar.Event{UID: "a@relevel", Changed: written, At: written, Summary: "s" + text, Location: text}).Write()
		c, err := ics.ParseCalendar(bytes.NewReader(out))
		if err != nil || len(c.Events()) != 1 {
			t.Fatalf("%v in\n%q", err, out)
		}
		for _, line := range strings.Split(string(out), "\r\n") {
			if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
				t.Fatalf("line %q", line)
			}
		}
	})
}
