package sheet

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// Plan is a plan as a sheet has it, and what is wrong with it.
type Plan struct {
	Plan    events.Plan
	Lines   []PlanLine
	Faults  []Fault
	Ignored []string // headings that nothing is read from
}

// PlanLine says what one line of a sheet puts on the plan.
type PlanLine struct {
	Line int    `json:"line"`
	What string `json:"what"`
	Name string `json:"name,omitempty"`
	Says string `json:"says,omitempty"` // the rest of the line, in words
}

// ReadPlan reads a plan. A file that is none at all is a plan with one fault.
func ReadPlan(file []byte) Plan {
	t, ignored, err := read(file, planLayout)
	if bad, ok := errors.AsType[*Fault](err); ok {
		return Plan{Faults: []Fault{*bad}}
	}
	d := &drafter{along: map[string][]stand{}, lineOf: map[string]int{}}
	for _, r := range t.rows {
		d.take(planRow{t, r, &d.bad})
	}
	d.stringUp()
	p := Plan{Plan: d.plan, Lines: d.lines, Ignored: ignored}
	if len(d.bad.list) == 0 {
		d.check()
	}
	p.Faults = d.bad.all()
	return p
}

// Same reports whether two plans say the same: their sheets are the same.
func Same(a, b events.Plan) bool {
	var one, two bytes.Buffer
	err := errors.Join(WritePlan(&one, a), WritePlan(&two, b))
	return err == nil && bytes.Equal(one.Bytes(), two.Bytes())
}

// drafter draws a plan line by line.
type drafter struct {
	plan   events.Plan
	lines  []PlanLine
	bad    faults
	along  map[string][]stand // the supports of each bearer
	named  []string           // bearers in the order in which supports name them
	joins  []pendingJoin
	lineOf map[string]int // of a thing, by the name that a check gives it: supports[3]
}

// stand is a support's place along its bearer.
type stand struct {
	support string
	at      int // 0: in the order of the lines
	line    int
}

type pendingJoin struct {
	bearer string
	join   events.Join
	line   int
}

// take draws one line.
func (d *drafter) take(r planRow) {
	what := strings.ToLower(r.text("what"))
	name := r.text("name")
	if draw := drawn[what]; draw != nil {
		draw(d, r, name)
	} else {
		r.fault("what", planThings)
	}
	d.lines = append(d.lines, PlanLine{r.row.line, what, name, r.says()})
}

var drawn = map[string]func(d *drafter, r planRow, name string){
	aSupport: (*drafter).support, aSpot: (*drafter).spot, aDatum: (*drafter).datum, aBearer: (*drafter).bearer, aJoin: (*drafter).join,
	theJoists: (*drafter).joists, aWall: (*drafter).wall, aRoom: (*drafter).room, theStreet: (*drafter).street, aLoad: (*drafter).load,
	underlay: (*drafter).underlay,
	fixed:    func(d *drafter, r planRow, name string) { d.thing(&d.plan.Fixed, "fixed", r, name) },
	aDoor:    func(d *drafter, r planRow, name string) { d.thing(&d.plan.Doors, "doors", r, name) },
	aHatch:   func(d *drafter, r planRow, name string) { d.thing(&d.plan.Hatches, "hatches", r, name) },
}

// at notes from which line the next of a list comes.
func (d *drafter) at(list string, n int, r planRow) {
	d.lineOf[fmt.Sprintf("%s[%d]", list, n)] = r.row.line
}

func (d *drafter) support(r planRow, name string) {
	d.at("supports", len(d.plan.Supports), r)
	d.plan.Supports = append(d.plan.Supports, events.Support{ID: name, X: r.metres("x"), Y: r.metres("y"), Sort: r.text("sort"), Of: r.text("of")})
	bearer := r.text("bearer")
	if bearer == "" {
		return
	}
	s := stand{support: name, line: r.row.line}
	if cell := r.text("along"); cell != "" {
		n, cure := wholeOf(cell, 1, MaxRows)
		if cure != "" {
			r.fault("along", cure+": its place along the bearer")
		}
		s.at = n
	}
	if d.along[bearer] == nil {
		d.named = append(d.named, bearer)
	}
	d.along[bearer] = append(d.along[bearer], s)
}

func (d *drafter) spot(r planRow, name string) {
	d.at("spots", len(d.plan.Spots), r)
	d.plan.Spots = append(d.plan.Spots, events.Spot{ID: name, X: r.metres("x"), Y: r.metres("y")})
}

func (d *drafter) datum(r planRow, name string) {
	d.at("datums", len(d.plan.Datums), r)
	d.plan.Datums = append(d.plan.Datums, events.Datum{
		ID: name, X: r.metres("x"), Y: r.metres("y"), Height: r.height(), SDMM: r.mm("±"),
		StandsOn: r.text("stands on"), OffBuilding: r.yes("off building"),
	})
}

// height is that of a datum, in the unit beside it or in that of the heading.
func (r planRow) height() *events.Length {
	if r.text("height") == "" {
		return nil
	}
	unit := r.t.unit("height", levelling.Millimetre)
	if said := r.text("height unit"); said != "" {
		if unit = unitOf(said); unit == "" {
			r.fault("height unit", aUnit)
			return nil
		}
	}
	l, cure := lengthOf(r.t.cell(r.row, "height"), unit)
	if cure != "" {
		r.fault("height", cure)
	}
	return &l
}

func (d *drafter) bearer(r planRow, name string) {
	d.at("bearers", len(d.plan.Bearers), r)
	d.plan.Bearers = append(d.plan.Bearers, events.Bearer{
		ID: name, WidthMM: r.mm("width"), DepthMM: r.mm("depth"), EMPa: r.number("e mpa"), Grade: r.text("grade"), Condition: r.text("condition"),
	})
}

func (d *drafter) join(r planRow, name string) {
	bearer := r.text("bearer")
	if bearer == "" {
		r.fault("bearer", "missing: the bearer that the join is in")
		return
	}
	d.joins = append(d.joins, pendingJoin{bearer, events.Join{At: name, Other: r.text("other"), Sort: events.JoinSort(strings.ToLower(r.text("sort")))}, r.row.line})
}

func (d *drafter) joists(r planRow, _ string) {
	if d.plan.Joists != nil {
		r.fault("what", "joists stand twice: they run one way, on one line")
		return
	}
	d.plan.Joists = &events.Joists{DirectionDeg: r.number("direction"), SpacingMM: r.mm("spacing"), WidthMM: r.mm("width"), DepthMM: r.mm("depth")}
}

// stringUp puts the supports on their bearers and the joins into them. A bearer that
// has no line of its own is drawn after those that have one, in the order in which
// supports name them.
func (d *drafter) stringUp() {
	place := map[string]int{}
	for i, b := range d.plan.Bearers {
		place[b.ID] = i
	}
	for _, bearer := range d.named {
		stands := d.along[bearer]
		if _, known := place[bearer]; !known {
			place[bearer] = len(d.plan.Bearers)
			d.lineOf[fmt.Sprintf("bearers[%d]", len(d.plan.Bearers))] = stands[0].line
			d.plan.Bearers = append(d.plan.Bearers, events.Bearer{ID: bearer})
		}
		slices.SortStableFunc(stands, func(a, b stand) int { return cmp.Compare(a.at, b.at) })
		b := &d.plan.Bearers[place[bearer]]
		for i, s := range stands {
			if i > 0 && s.at != 0 && s.at == stands[i-1].at {
				d.bad.add(s.line, "along", fmt.Sprintf("%q stands there already: number the supports of %s in their order", stands[i-1].support, bearer))
			}
			d.lineOf[fmt.Sprintf("bearers[%d].supports[%d]", place[bearer], len(b.Supports))] = s.line
			b.Supports = append(b.Supports, s.support)
		}
	}
	for _, j := range d.joins {
		i, known := place[j.bearer]
		if !known {
			d.bad.add(j.line, "bearer", fmt.Sprintf("no bearer %q on this plan", j.bearer))
			continue
		}
		b := &d.plan.Bearers[i]
		d.lineOf[fmt.Sprintf("bearers[%d].joins[%d]", i, len(b.Joins))] = j.line
		b.Joins = append(b.Joins, j.join)
	}
}

// check holds the plan against what every plan must be, and leads what is wrong back
// to its line. Every name that stands twice is told at once.
func (d *drafter) check() {
	first := map[string]int{}
	for _, l := range d.lines {
		if l.What != aSupport && l.What != aSpot && l.What != aDatum {
			continue
		}
		if line, twice := first[l.Name]; twice && l.Name != "" {
			d.bad.add(l.Line, "name", fmt.Sprintf("%q stands on line %d already: give each place its own name", l.Name, line))
		} else {
			first[l.Name] = l.Line
		}
	}
	if len(d.bad.list) > 0 {
		return
	}
	bad, ok := errors.AsType[*levelling.InputError](d.plan.Check())
	if !ok {
		return
	}
	line, part := d.lineAt(bad.Field)
	d.bad.add(line, columnWords[part], bad.Cure)
}

// lineAt finds the line that a field was drawn from: the longest name that leads to one.
func (d *drafter) lineAt(field string) (line int, part string) {
	for name := field; name != ""; {
		if line, ok := d.lineOf[name]; ok {
			return line, strings.TrimPrefix(strings.TrimPrefix(field, name), ".")
		}
		cut := strings.LastIndexAny(name, ".[")
		if cut < 0 {
			break
		}
		name = name[:cut]
	}
	return 0, field
}

// columnWords are the columns of what a check speaks of.
var columnWords = map[string]string{
	"id": "name", "name": "name", "x": "x m", "y": "y m", "height": "height", "sd_mm": "± mm", "width_mm": "width mm", "depth_mm": "depth mm",
	"e_mpa": "E MPa", "sort": "sort", "at": "name", "other": "other", "street": "sort",
}
