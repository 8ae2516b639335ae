package sheet

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
)

const (
	aDay  = "the day as 2026-03-02: year, month, day"
	aTime = "the time as 10:15, or with seconds as 10:15:30"
)

var (
	dayCell    = regexp.MustCompile(`^(\d{4})-(\d{1,2})-(\d{1,2})$`)
	clockCell  = regexp.MustCompile(`^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,3}))?)?$`)
	offsetCell = regexp.MustCompile(`^(?:UTC|GMT)?([-+−])(\d{1,2}):?(\d{2})$`)
)

// time reads day, time and offset. An empty day or time is that of the line before.
// Without an offset the clock is the job's, and a time that it showed twice or never
// is asked about.
func (b *booker) time(r row) time.Time {
	day, clock, offset := b.text(r, "date"), b.text(r, "time"), b.text(r, "offset")
	if day == "" && clock == "" && !b.was.at.IsZero() {
		return b.was.at
	}
	if day == "" && !b.was.at.IsZero() {
		day = b.was.at.Format(time.DateOnly)
	}
	at, ok := b.clock(r, day, clock)
	if !ok {
		return time.Time{}
	}
	zone := b.site.Zone
	if offset != "" {
		if zone, ok = zoneCell(offset); !ok {
			b.fault(r, "offset", "how far the clock is from UTC, such as UTC+11:00; empty for the job's own clock")
			return time.Time{}
		}
	}
	there := time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(), at.Nanosecond(), zone)
	if cure := doubtful(at, there); cure != "" {
		b.fault(r, "time", cure)
		return time.Time{}
	}
	return there
}

// clock reads a day and a time as a clock shows them, in no zone.
func (b *booker) clock(r row, day, clock string) (time.Time, bool) {
	d := dayCell.FindStringSubmatch(day)
	if d == nil {
		b.fault(r, "date", map[bool]string{true: "missing: ", false: ""}[day == ""]+aDay)
		return time.Time{}, false
	}
	c := clockCell.FindStringSubmatch(clock)
	if c == nil {
		b.fault(r, "time", map[bool]string{true: "missing: ", false: ""}[clock == ""]+aTime)
		return time.Time{}, false
	}
	n := func(text string) int { v, _ := strconv.Atoi(text); return v } // "" is 0
	fraction := n((c[4] + "000")[:3])
	at := time.Date(n(d[1]), time.Month(n(d[2])), n(d[3]), n(c[1]), n(c[2]), n(c[3]), fraction*int(time.Millisecond), time.UTC)
	if at.Day() != n(d[3]) || at.Hour() != n(c[1]) || at.Minute() != n(c[2]) || at.Second() != n(c[3]) || at.Year() < 1970 {
		b.fault(r, "date", "there is no such day or time: "+aDay+", "+aTime)
		return time.Time{}, false
	}
	return at, true
}

// zoneCell reads an offset from UTC.
func zoneCell(text string) (*time.Location, bool) {
	text = strings.ToUpper(strings.TrimSpace(text))
	if text == "UTC" || text == "GMT" || text == "Z" {
		return time.UTC, true
	}
	m := offsetCell.FindStringSubmatch(text)
	if m == nil {
		return nil, false
	}
	hours, _ := strconv.Atoi(m[2])
	minutes, _ := strconv.Atoi(m[3])
	if hours > 15 || minutes > 59 {
		return nil, false
	}
	seconds := hours*3600 + minutes*60
	if m[1] != "+" {
		seconds = -seconds
	}
	return time.FixedZone("", seconds), true
}

// doubtful says what is wrong with a clock's time where clocks were put on or back.
func doubtful(shown, there time.Time) string {
	same := func(t time.Time) bool { return t.Format(clockLayout) == shown.Format(clockLayout) }
	if !same(there) {
		return "no clock showed this time that day: clocks were put forward"
	}
	for _, by := range []time.Duration{-time.Hour, -30 * time.Minute, 30 * time.Minute, time.Hour} {
		if other := there.Add(by); same(other) {
			if other.Before(there) {
				there, other = other, there
			}
			return fmt.Sprintf("clocks showed this time twice that night: write %s or %s into the column “offset”", offsetText(there), offsetText(other))
		}
	}
	return ""
}

const clockLayout = "2006-01-02T15:04:05.000"

// offsetText writes how far a time's zone is from UTC, so that no spreadsheet takes
// it for a number or a formula.
func offsetText(at time.Time) string {
	if text := at.Format("-07:00"); text != "+00:00" {
		return "UTC" + text
	}
	return "UTC"
}
