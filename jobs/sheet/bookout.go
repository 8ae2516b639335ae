package sheet

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// BookWriter writes a level book as a sheet, event by event, and keeps no more of it
// than the numbers of its set-ups.
type BookWriter struct {
	out    *lineWriter
	zone   *time.Location
	names  map[events.ID]string // of people
	setups map[events.ID]int
}

// NewBookWriter begins a sheet, with times in a zone and people by name.
func NewBookWriter(w io.Writer, zone *time.Location, names map[events.ID]string) *BookWriter {
	b := &BookWriter{
		out: &lineWriter{csv: csv.NewWriter(w), place: places(bookHeadings)}, zone: zone, names: names, setups: map[events.ID]int{},
	}
	b.out.csv.UseCRLF = true
	b.out.heading(bookHeadings)
	return b
}

// Add writes the lines of one event; an event that is no reading has none. Its line of
// the book says whether it counts and which height it has.
func (b *BookWriter) Add(e events.Stored, l jobs.Line) {
	if e.Erased {
		return
	}
	body, err := events.Open(e.Kind, e.V, e.Body)
	if err != nil {
		return
	}
	common := b.common(e, l)
	switch body := body.(type) {
	case *events.Setup:
		b.setup(e.ID, common, body)
	case *events.SetupClosed:
		b.sights(common, foreSight, b.number(body.Setup), body.Datums)
	case *events.Reading:
		b.reading(common, body, l)
	}
}

// End writes what is left and returns the first error.
func (b *BookWriter) End() error { return b.out.end() }

func (b *BookWriter) common(e events.Stored, l jobs.Line) cells {
	at := e.At.In(b.zone)
	c := cells{
		"date": at.Format(time.DateOnly), "time": at.Format("15:04:05.000"), "offset": offsetText(at), "by": textCell(b.names[e.By]),
	}
	if why := l.Voided; why != "" {
		c["not counted"] = textCell("void: " + why)
	} else if l.Aside != "" {
		c["not counted"] = textCell("set aside: " + l.Aside)
	}
	return c
}

// number names set-ups in the order in which the book meets them.
func (b *BookWriter) number(setup events.ID) string {
	if setup.IsZero() {
		return ""
	}
	if b.setups[setup] == 0 {
		b.setups[setup] = len(b.setups) + 1
	}
	return strconv.Itoa(b.setups[setup])
}

func (b *BookWriter) setup(id events.ID, common cells, body *events.Setup) {
	common["instrument"], common["method"] = textCell(body.Instrument), string(body.Method)
	common["± mm"], common["± mm per m"] = orEmpty(body.SDMM), orEmpty(body.SDMMPerM)
	if body.Stand != nil {
		common["stand m"] = numberCell(body.Stand[0]) + " " + numberCell(body.Stand[1])
	}
	b.sights(common, backSight, b.number(id), body.Datums)
}

func (b *BookWriter) sights(common cells, sight, setup string, datums []events.DatumReading) {
	for _, d := range datums {
		line := cells{"sight": sight, "setup": setup, "point": textCell(d.Datum), "staff": numberCell(d.Staff.Value), "unit": string(d.Staff.Unit)}
		for name, cell := range common {
			line[name] = cell
		}
		b.out.line(line)
	}
}

func (b *BookWriter) reading(line cells, body *events.Reading, l jobs.Line) {
	line["sight"], line["setup"] = intermediate, b.number(body.Setup)
	line["point"], line["face"], line["surface"] = textCell(body.Point), string(body.Face), textCell(body.Surface)
	line["not read"] = textCell(body.NotRead)
	if body.Repeat != 0 {
		line["look"] = strconv.Itoa(body.Repeat)
	}
	if body.Staff != nil {
		line["staff"], line["unit"] = numberCell(body.Staff.Value), string(body.Staff.Unit)
	}
	if l.Height != nil {
		line["height mm"] = fmt.Sprintf("%.1f", *l.Height)
	}
	b.out.line(line)
}
