package sheet

import (
	"encoding/csv"
	"fmt"
	"io"

	"relevel/events"
)

// WritePlan writes a plan as a sheet: a line for each thing that stands on it.
func WritePlan(w io.Writer, p events.Plan) error {
	out := &lineWriter{csv: csv.NewWriter(w), place: places(planHeadings)}
	out.csv.UseCRLF = true
	out.heading(planHeadings)
	writeSupports(out, p)
	for _, s := range p.Spots {
		out.line(cells{"what": aSpot, "name": textCell(s.ID), "x m": numberCell(s.X), "y m": numberCell(s.Y)})
	}
	for _, d := range p.Datums {
		writeDatum(out, d)
	}
	for _, b := range p.Bearers {
		writeBearer(out, b)
	}
	writeAround(out, p)
	return out.end()
}

func writeSupports(out *lineWriter, p events.Plan) {
	type place struct {
		bearer string
		along  int
	}
	on := map[string]place{}
	for _, b := range p.Bearers {
		for i, s := range b.Supports {
			on[s] = place{b.ID, i + 1}
		}
	}
	for _, s := range p.Supports {
		line := cells{
			"what": aSupport, "name": textCell(s.ID), "x m": numberCell(s.X), "y m": numberCell(s.Y),
			"sort": textCell(s.Sort), "of": textCell(s.Of),
		}
		if at, ok := on[s.ID]; ok {
			line["bearer"], line["along"] = textCell(at.bearer), fmt.Sprint(at.along)
		}
		out.line(line)
	}
}

func writeDatum(out *lineWriter, d events.Datum) {
	line := cells{
		"what": aDatum, "name": textCell(d.ID), "x m": numberCell(d.X), "y m": numberCell(d.Y), "± mm": orEmpty(d.SDMM),
		"stands on": textCell(d.StandsOn), "off building": yesCell(d.OffBuilding),
	}
	if d.Height != nil {
		line["height"], line["height unit"] = numberCell(d.Height.Value), string(d.Height.Unit)
	}
	out.line(line)
}

func writeBearer(out *lineWriter, b events.Bearer) {
	out.line(cells{
		"what": aBearer, "name": textCell(b.ID), "width mm": orEmpty(b.WidthMM), "depth mm": orEmpty(b.DepthMM), "E MPa": orEmpty(b.EMPa),
		"grade": textCell(b.Grade), "condition": textCell(b.Condition),
	})
	for _, j := range b.Joins {
		out.line(cells{"what": aJoin, "name": textCell(j.At), "other": textCell(j.Other), "bearer": textCell(b.ID), "sort": string(j.Sort)})
	}
}

// writeAround writes what stands around the supports.
func writeAround(out *lineWriter, p events.Plan) {
	if j := p.Joists; j != nil {
		out.line(cells{
			"what": theJoists, "direction": numberCell(j.DirectionDeg), "spacing mm": orEmpty(j.SpacingMM), "width mm": orEmpty(j.WidthMM), "depth mm": orEmpty(j.DepthMM),
		})
	}
	for _, w := range p.Walls {
		out.line(cells{"what": aWall, "outline m": outlineCell([]events.Position{w.From, w.To}), "roof": yesCell(w.Roof), "masonry": yesCell(w.Masonry)})
	}
	for _, r := range p.Rooms {
		out.line(cells{"what": aRoom, "name": textCell(r.Name), "outline m": outlineCell(r.Outline), "wet": yesCell(r.Wet)})
	}
	for _, list := range []struct {
		what   string
		things []events.Thing
	}{{fixed, p.Fixed}, {aDoor, p.Doors}, {aHatch, p.Hatches}} {
		for _, t := range list.things {
			out.line(cells{"what": list.what, "name": textCell(t.Name), "outline m": outlineCell(t.Outline)})
		}
	}
	if p.Street != "" {
		out.line(cells{"what": theStreet, "sort": string(p.Street)})
	}
	writeLoads(out, p.Loads)
	if u := p.Underlay; u != nil {
		out.line(cells{"what": underlay, "name": u.SHA256.String(), "pixels": outlineCell(u.Pixels[:]), "outline m": outlineCell(u.Metres[:])})
	}
}

func writeLoads(out *lineWriter, l *events.Loads) {
	if l == nil {
		return
	}
	if *l == (events.Loads{}) {
		out.line(cells{"what": aLoad})
	}
	for _, known := range loadNames {
		if v := *known.of(l); v != 0 {
			out.line(cells{"what": aLoad, "name": known.name, "amount": numberCell(v)})
		}
	}
}

// lineWriter writes lines of cells by the name of their column.
type lineWriter struct {
	csv   *csv.Writer
	place map[string]int
	err   error
}

// cells are what stands in a line, by the heading of its column.
type cells map[string]string

func places(headings []string) map[string]int {
	place := make(map[string]int, len(headings))
	for i, h := range headings {
		place[h] = i
	}
	return place
}

func (w *lineWriter) heading(names []string) { w.write(names) }

func (w *lineWriter) line(c cells) {
	record := make([]string, len(w.place))
	for name, cell := range c {
		i, ok := w.place[name]
		if !ok {
			panic("a sheet has no column " + name)
		}
		record[i] = cell
	}
	w.write(record)
}

func (w *lineWriter) write(record []string) {
	if w.err == nil {
		w.err = w.csv.Write(record)
	}
}

func (w *lineWriter) end() error {
	w.csv.Flush()
	if w.err == nil {
		w.err = w.csv.Error()
	}
	if w.err != nil {
		return fmt.Errorf("write a sheet: %w", w.err)
	}
	return nil
}
