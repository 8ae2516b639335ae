package web

import (
	"fmt"
	"html/template"
	"net/url"
	"slices"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// RecordPage is a form.
type RecordPage struct {
	Frame
	Form    Form
	Sources Sources
	Values  url.Values
	Wrong   Wrong
	FormID  string // the id its event will have
	Back    string
	By      string
	Unit    string
	Target  []Fact
	Resting []string   // what rests on the line to be voided
	Stops   []StopOf   // where the next move stops, of each that is moved
	Grid    *GridStart // offers a plain grid to start the plan from
	Unsafe  bool       // today's safety check comes before it, and is not recorded

	Between     []BookLine        // what was recorded since somebody opened the form to decide
	Agreed      *ProfileAsks      // what is agreed now, where the form's inputs do not show it
	Apart       string            // the key of what was kept apart and is corrected here
	Decision    int               // the number of the decision that this will be
	Instruments []jobs.Instrument // whose checks are worth knowing before this is recorded
}

// Instead leads to the other ways of doing what the form records.
func (p RecordPage) Instead() []Action {
	var out []Action
	for _, s := range p.Form.Sorts {
		if s.Value != p.Form.Sort {
			out = append(out, Action{s.Instead, "?" + url.Values{"sort": {s.Value}, "back": {p.Back}}.Encode()})
		}
	}
	return out
}

// Fact is a figure worth having beside a form.
type Fact struct{ Name, Value string }

// GridStart asks for a plain grid, and shows the floor it makes.
type GridStart struct {
	Bearers, Supports, Along, Across string // as they were typed
	First, Second                    string // what the two datums stand on
	Wrong                            Wrong
	Floor                            template.HTML // "" until it is drawn
}

// shown is one field of a form as a page shows it.
type shown struct {
	Field
	At      string // name of the input
	ID      string
	Value   string
	Values  []string
	Wrong   string
	Options []Choice
	Unit    string // of a length
}

// Show prepares one field; at is the name of its input.
func (p RecordPage) Show(f Field, at string) shown {
	s := shown{Field: f, At: at, ID: "f-" + strings.NewReplacer("[", "-", "]", "", ".", "-").Replace(at),
		Value: p.Values.Get(at), Values: p.Values[at], Wrong: p.Wrong[at], Options: f.Choices}
	for name, cure := range p.Wrong { // of one of several, such as supports[2]
		if strings.HasPrefix(name, at+"[") {
			s.Wrong = cure
		}
	}
	switch {
	case f.From != "":
		s.Options = p.Sources.Choices(f.From)
	case f.Input == Points:
		s.Options = p.Sources.Choices(FromSupports)
	case f.Input == Length:
		s.Unit = p.Unit
	}
	if f.Name == "support" && p.Sources.Support != "" {
		s.Input, s.Value = Hidden, p.Sources.Support
	}
	return s
}

// Free reports whether a field that is not needed should say so: those of rows
// and those that are folded away do not.
func (s shown) Free() bool { return !s.More && !s.Open && !strings.Contains(s.At, "[") }

// Keys are what a phone should show to type the field with: figures alone, but
// letters too where there may be a minus or a fraction.
func (s shown) Keys() string {
	if s.Minus || s.Unit == string(levelling.Inch) {
		return "text"
	}
	return "decimal"
}

// Title is what the form does; where is said before it.
func (p RecordPage) Title() string {
	if p.Sources.Support == "" {
		return p.Form.Title
	}
	return strings.ToLower(p.Form.Title[:1]) + p.Form.Title[1:]
}

// Main are the fields that always stand open, and More those folded away.
func (p RecordPage) Main() []shown { return p.fields(false) }

// More are the fields that a page folds away.
func (p RecordPage) More() []shown { return p.fields(true) }

func (p RecordPage) fields(more bool) []shown {
	var all []shown
	for _, f := range p.Form.Fields {
		if f.More == more {
			all = append(all, p.Show(f, f.Name))
		}
	}
	return all
}

// MoreOpen reports whether something folded away has to be looked at.
func (p RecordPage) MoreOpen() bool {
	for _, s := range p.More() {
		if s.Wrong != "" || s.Need && s.Value == "" {
			return true
		}
	}
	return false
}

// MoreWords say what is folded away: the figures that are recorded with the rest,
// and of the others how they begin.
func (p RecordPage) MoreWords() string {
	const most = 4
	var words, others []string
	for _, s := range p.More() {
		if (s.Input == Number || s.Input == Whole) && s.Value != "" {
			words = append(words, s.Label+": "+s.Value)
		} else {
			others = append(others, s.Label)
		}
	}
	shown := max(0, most-len(words))
	if len(others) <= shown+1 {
		return strings.Join(append(words, others...), ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(append(words, others[:shown]...), ", "), len(others)-shown)
}

// Recorder is the name of who records, "" while nobody is chosen.
func (p RecordPage) Recorder() string {
	for _, one := range p.Sources.Recorders {
		if one.ID.String() == p.By {
			return one.Name
		}
	}
	return ""
}

// Folded reports whether the document is folded away under what it draws.
func (p RecordPage) Folded() bool { return p.Grid != nil && p.Grid.Floor != "" }

// Aside reports whether the whole form stands back behind the grid.
func (p RecordPage) Aside() bool { return p.Grid != nil && p.Grid.Floor == "" }

// TakesPhotos reports whether photos can go with what is recorded.
func (p RecordPage) TakesPhotos() bool { return p.Form.Kind != events.KindVoid }

// Flipped reports whether the tick that turns a sign is set.
func (p RecordPage) Flipped() bool { return p.Values.Get(p.Form.Rows.Flip.Name) != "" }

// Has reports whether a value is among those chosen.
func (s shown) Has(v string) bool { return contains(s.Values, v) }

// shownRow is one row of a form as a page shows it.
type shownRow struct {
	Choice
	Name      string
	Inputs    []shown
	More      []shown // folded away
	MoreWords string
}

// MoreOpen reports whether something stands in what is folded away of a row.
func (r shownRow) MoreOpen() bool {
	return slices.ContainsFunc(r.More, func(s shown) bool { return s.Wrong != "" || s.Value != "" })
}

func (r shownRow) all() []shown { return slices.Concat(r.Inputs, r.More) }

// Rows prepares the rows of a form.
func (p RecordPage) Rows() []shownRow {
	r := p.Form.Rows
	if r == nil {
		return nil
	}
	var rows []shownRow
	for i, key := range r.Keys(p.Sources) {
		name := r.RowName(i)
		if at := p.Values.Get(name); at != "" && at != key.Value { // as it was when it was filled in
			key = Choice{at, at}
		}
		row := shownRow{Choice: key, Name: name, MoreWords: r.More}
		if row.Label == "" {
			row.Label = key.Value
		}
		for _, f := range r.Fields {
			switch s := p.Show(f, name+"."+f.Name); {
			case !f.More:
				row.Inputs = append(row.Inputs, s)
			case !p.Many() || s.Wrong != "" || s.Value != "": // a column of places is narrow
				row.More = append(row.More, s)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// Near are the rows that stand open: those of the support in hand and what goes
// with it, or the first piece, or all of them.
func (p RecordPage) Near() []shownRow { return p.Rows()[:p.near()] }

func (p RecordPage) near() int {
	rows := len(p.Rows())
	if p.folds() {
		return min(rows, 1+len(p.Sources.With))
	}
	return rows
}

// Far are the other rows, which a page folds away.
func (p RecordPage) Far() []shownRow {
	return p.Rows()[p.near():]
}

func (p RecordPage) folds() bool {
	r := p.Form.Rows
	return r != nil && r.Fold && (r.From != FromBearer || p.Sources.Support != "") && len(p.Rows()) > 1
}

// Many reports whether the form is a column of places to go along, one after
// another.
func (p RecordPage) Many() bool {
	r := p.Form.Rows
	return r != nil && r.First && r.From == FromBearer && p.Sources.Support == ""
}

// FarWords say what the rows are that are folded away.
func (p RecordPage) FarWords() string {
	if p.Form.Rows.From == FromBearer {
		return "Others on this " + p.Words.Bearer
	}
	return "More " + strings.ToLower(p.Form.Rows.Label)
}

// ByWords stand before who records.
func (p RecordPage) ByWords() string {
	if p.Form.Kind == events.KindSigned {
		return "Signed by"
	}
	return "Recorded by"
}

// FarOpen reports whether something stands in the rows that are folded away.
func (p RecordPage) FarOpen() bool {
	for _, r := range p.Far() {
		for _, in := range r.all() {
			if in.Wrong != "" || in.Value != "" && in.Input != OneOf && !in.Keep {
				return true
			}
		}
	}
	return false
}

// NoSetup reports whether the form waits for a set-up of the laser.
func (p RecordPage) NoSetup() bool {
	for _, f := range p.Form.Fields {
		if f.From == FromSetups && len(p.Sources.Choices(FromSetups)) == 0 {
			return true
		}
	}
	return false
}

// Loose is what is wrong with no input in particular.
func (p RecordPage) Loose() []string {
	var all []string
	for name, cure := range p.Wrong {
		if !p.shows(name) {
			all = append(all, strings.TrimPrefix(name+": "+cure, ": "))
		}
	}
	return all
}

func (p RecordPage) shows(name string) bool {
	if name == "document" || name == "recorder" {
		return true
	}
	for _, f := range p.Form.Fields {
		if name == f.Name || strings.HasPrefix(name, f.Name+"[") {
			return true
		}
	}
	for _, r := range p.Rows() {
		for _, in := range r.all() {
			if name == in.At {
				return true
			}
		}
	}
	return false
}

// Units are what lengths can be typed in.
func (RecordPage) Units() []Choice {
	return unitChoices
}

// Stages are when a photo was taken.
func (RecordPage) Stages() []Choice {
	return []Choice{{"", ""}, {"before", "before"}, {"during", "during"}, {"after", "after"}}
}

// HasLength reports whether the form takes a length, and so a unit.
func (p RecordPage) HasLength() bool {
	fields := p.Form.Fields
	if p.Form.Rows != nil {
		fields = append(fields[:len(fields):len(fields)], p.Form.Rows.Fields...)
	}
	for _, f := range fields {
		if f.Input == Length {
			return true
		}
	}
	return false
}
