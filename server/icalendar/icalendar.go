// Package icalendar writes calendars as RFC 5545 has them, as far as a feed needs
// it: days and moments, each with a name that stays. Days are written as dates, which
// have no time zone; moments in UTC, so that no rules of a zone have to be sent along.
package icalendar

import (
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Calendar is one feed.
type Calendar struct {
	Name   string
	Maker  string // of the feed, for PRODID
	Events []Event
}

// Event is one thing in a calendar: whole days if First is set, else a moment.
type Event struct {
	UID         string // the same each time that the same thing is written
	Changed     time.Time
	Revision    int    // counts up with each change of what is planned
	First, Last string // days as 2026-03-02, both in it
	At          time.Time
	Summary     string
	Description string
	Location    string
	URL         string
}

// day is how RFC 5545 writes a date, moment how it writes a time in UTC.
const (
	day    = "20060102"
	moment = "20060102T150405Z"
)

// Write returns the feed as it is sent. Events whose days are none are left out.
func (c Calendar) Write() []byte {
	var w writer
	w.line("BEGIN", "VCALENDAR")
	w.line("VERSION", "2.0")
	w.text("PRODID", "-//"+c.Maker+"//EN")
	w.line("CALSCALE", "GREGORIAN")
	w.line("METHOD", "PUBLISH")
	w.text("NAME", c.Name)
	w.text("X-WR-CALNAME", c.Name)
	w.line("REFRESH-INTERVAL;VALUE=DURATION", "PT1H")
	for _, e := range c.Events {
		w.event(e)
	}
	w.line("END", "VCALENDAR")
	return w.b
}

func (w *writer) event(e Event) {
	start, end := e.At.UTC().Format(moment), ""
	name := "DTSTART"
	if e.First != "" {
		first, err := time.Parse(time.DateOnly, e.First)
		last, wrong := time.Parse(time.DateOnly, e.Last)
		if err != nil || wrong != nil || last.Before(first) {
			return
		}
		// The end of whole days is the day after the last (section 3.6.1).
		start, end, name = first.Format(day), last.AddDate(0, 0, 1).Format(day), "DTSTART;VALUE=DATE"
	}
	w.line("BEGIN", "VEVENT")
	w.text("UID", e.UID)
	w.line("DTSTAMP", e.Changed.UTC().Format(moment))
	w.line(name, start)
	if end != "" {
		w.line("DTEND;VALUE=DATE", end)
	}
	w.line("SEQUENCE", strconv.Itoa(e.Revision))
	w.text("SUMMARY", e.Summary)
	w.text("DESCRIPTION", e.Description)
	w.text("LOCATION", e.Location)
	if e.URL != "" {
		w.line("URL", e.URL)
	}
	w.line("TRANSP", "TRANSPARENT") // it says what is on, and takes nobody's time
	w.line("END", "VEVENT")
}

type writer struct{ b []byte }

// text writes a property that is text, unless it is empty (section 3.3.11).
func (w *writer) text(name, value string) {
	if value != "" {
		w.line(name, escape.Replace(strings.ToValidUTF8(value, "\uFFFD")))
	}
}

var escape = strings.NewReplacer(`\`, `\\`, `;`, `\;`, `,`, `\,`, "\r\n", `\n`, "\n", `\n`, "\r", `\n`)

// most is how many octets a line may have before its break (section 3.1).
const most = 75

// line writes one content line, folded between letters. Control characters have no
// place in one.
func (w *writer) line(name, value string) {
	length := 0
	for _, r := range name + ":" + value {
		if r < ' ' && r != '\t' || r == 0x7f {
			continue
		}
		if n := utf8.RuneLen(r); length+n > most {
			w.b = append(w.b, "\r\n "...)
			length = 1 + n
		} else {
			length += n
		}
		w.b = utf8.AppendRune(w.b, r)
	}
	w.b = append(w.b, "\r\n"...)
}
