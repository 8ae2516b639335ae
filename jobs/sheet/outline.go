package sheet

import (
	"strings"

	"relevel/events"
)

const anOutline = "corners as x y in metres with a semicolon between them, such as 0 0; 4.2 0; 4.2 3"

// outlineOf reads corners, or the ends of a line.
func outlineOf(cell string) (all []events.Position, cure string) {
	for _, corner := range strings.Split(textOf(cell), ";") {
		if strings.TrimSpace(corner) == "" {
			continue
		}
		parts := strings.Fields(corner)
		if len(parts) != 2 {
			return nil, anOutline
		}
		x, wrongX := numberOf(strings.TrimSuffix(parts[0], ","))
		y, wrongY := numberOf(parts[1])
		if wrongX != "" || wrongY != "" {
			return nil, anOutline
		}
		all = append(all, events.Position{x, y})
	}
	return all, ""
}

func outlineCell(corners []events.Position) string {
	parts := make([]string, len(corners))
	for i, c := range corners {
		parts[i] = numberCell(c[0]) + " " + numberCell(c[1])
	}
	return strings.Join(parts, "; ")
}

// outline reads the cell of a line, which must have from least to most corners.
func (r planRow) outline(column string, least, most int) []events.Position {
	all, cure := outlineOf(r.t.cell(r.row, column))
	switch {
	case cure != "":
		r.fault(column, cure)
	case len(all) < least, len(all) > most:
		r.fault(column, "missing or not whole: "+anOutline)
	}
	return all
}

func (d *drafter) wall(r planRow, _ string) {
	d.at("walls", len(d.plan.Walls), r)
	ends := r.outline("outline", 2, 2)
	if len(ends) == 2 {
		d.plan.Walls = append(d.plan.Walls, events.Wall{From: ends[0], To: ends[1], Roof: r.yes("roof"), Masonry: r.yes("masonry")})
	}
}

func (d *drafter) room(r planRow, name string) {
	d.at("rooms", len(d.plan.Rooms), r)
	d.plan.Rooms = append(d.plan.Rooms, events.Room{Name: name, Outline: r.outline("outline", 0, MaxRows), Wet: r.yes("wet")})
}

func (d *drafter) thing(to *[]events.Thing, list string, r planRow, name string) {
	d.at(list, len(*to), r)
	*to = append(*to, events.Thing{Name: name, Outline: r.outline("outline", 0, MaxRows)})
}

func (d *drafter) street(r planRow, _ string) {
	if d.plan.Street != "" {
		r.fault("what", "the street stands twice: it lies on one side")
	}
	d.lineOf["street"] = r.row.line
	if d.plan.Street = events.Side(strings.ToLower(r.text("sort"))); d.plan.Street == "" {
		r.fault("sort", "the side of the drawing: top, right, bottom or left")
	}
}

// loadNames are what a house weighs, as lines have it, and where a plan keeps it.
var loadNames = []struct {
	name string
	of   func(*events.Loads) *float64
}{
	{"floor dead kPa", func(l *events.Loads) *float64 { return &l.FloorDeadKPa }},
	{"floor live kPa", func(l *events.Loads) *float64 { return &l.FloorLiveKPa }},
	{"wall dead kPa", func(l *events.Loads) *float64 { return &l.WallDeadKPa }},
	{"wall m", func(l *events.Loads) *float64 { return &l.WallM }},
	{"roof dead kPa", func(l *events.Loads) *float64 { return &l.RoofDeadKPa }},
	{"roof live kPa", func(l *events.Loads) *float64 { return &l.RoofLiveKPa }},
	{"roof m", func(l *events.Loads) *float64 { return &l.RoofM }},
}

func (d *drafter) load(r planRow, name string) {
	if d.plan.Loads == nil {
		d.plan.Loads = &events.Loads{}
	}
	if name == "" { // somebody said that there is nothing to say
		return
	}
	for _, known := range loadNames {
		if strings.EqualFold(known.name, name) {
			d.lineOf["loads."+strings.ReplaceAll(strings.ToLower(known.name), " ", "_")] = r.row.line
			*known.of(d.plan.Loads) = r.number("amount")
			return
		}
	}
	names := make([]string, len(loadNames))
	for i, known := range loadNames {
		names[i] = known.name
	}
	r.fault("name", "one of "+strings.Join(names, ", "))
}

func (d *drafter) underlay(r planRow, name string) {
	var u events.Underlay
	pixels, metres := r.outline("pixels", 2, 2), r.outline("outline", 2, 2)
	if err := u.SHA256.UnmarshalText([]byte(name)); err != nil {
		r.fault("name", "the SHA-256 of the picture, 64 hexadecimal digits")
		return
	}
	if len(pixels) == 2 && len(metres) == 2 {
		copy(u.Pixels[:], pixels)
		copy(u.Metres[:], metres)
		d.plan.Underlay = &u
	}
}
