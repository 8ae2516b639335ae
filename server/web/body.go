package web

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// Wrong says, by the name of an input, what it takes instead.
type Wrong map[string]string

// Body is the body of one event made from a form, with what it speaks of.
type Body struct {
	JSON   json.RawMessage
	Opened events.Body
}

// Bodies makes the bodies of the events that a filled form stands for. If
// something is wrong the answer names the inputs.
func (f Form) Bodies(values url.Values, sources Sources) ([]Body, Wrong) {
	b := builder{values: values, unit: levelling.Unit(values.Get("unit")), wrong: Wrong{}}
	if b.unit.MM() == 0 {
		b.unit = levelling.Millimetre
	}
	if f.Fields != nil && f.Fields[0].Input == Document {
		return b.document(f)
	}
	common := map[string]any{}
	for _, field := range f.Of(values.Get("sort")).Fields {
		b.put(common, field, field.Name)
	}
	rows := b.rows(f.Rows, sources)
	if f.Once {
		return b.each(f, common, rows)
	}
	names := map[string]string{}
	if f.Rows != nil && len(rows) > 0 {
		list := make([]any, len(rows))
		for i, r := range rows {
			list[i] = r.body
			names[fmt.Sprintf("%s[%d]", f.Rows.Name, i)] = r.name
		}
		set(common, f.Rows.Name, list)
	}
	return b.finish(f, []map[string]any{common}, names)
}

// builder turns inputs into JSON values and notes what is wrong with them.
type builder struct {
	values url.Values
	unit   levelling.Unit
	wrong  Wrong
}

// row is one filled row and the name of its inputs.
type row struct {
	name string
	body map[string]any
}

// RowName is the name of the inputs of one row of a form.
func (r *Rows) RowName(i int) string {
	if r.Name == "" {
		return fmt.Sprintf("rows[%d]", i)
	}
	return fmt.Sprintf("%s[%d]", r.Name, i)
}

// Keys are what the rows of a form are about; "" for a row about nothing yet.
func (r *Rows) Keys(s Sources) []Choice {
	if r.From != "" {
		return s.Choices(r.From)
	}
	return make([]Choice, r.Count)
}

// rows collects the rows in which something was filled in. What a row is about
// comes back from the form, because the floor may have changed meanwhile.
func (b builder) rows(r *Rows, sources Sources) []row {
	if r == nil {
		return nil
	}
	var rows []row
	for i := 0; b.values.Has(r.RowName(i)) || i < r.Count; i++ {
		name := r.RowName(i)
		body := map[string]any{}
		filled := false
		for _, field := range r.Fields { // a select that has to be set and what was offered again always say something
			filled = filled || !(field.Input == OneOf && field.Need) && !field.Keep && strings.TrimSpace(b.values.Get(name+"."+field.Name)) != ""
		}
		if !filled {
			continue
		}
		for _, field := range r.Fields {
			b.put(body, field, name+"."+field.Name)
		}
		if r.Key != "" {
			body[r.Key] = b.values.Get(name)
		}
		if b.values.Get(r.Flip.Name) != "" {
			flip(body, r.Flip.Of)
		}
		rows = append(rows, row{name, body})
	}
	return rows
}

// flip makes a length negative, however it was typed.
func flip(body map[string]any, field string) {
	if l, ok := body[field].(events.Length); ok {
		l.Value = -math.Abs(l.Value)
		body[field] = l
	}
}

// put reads one input into a body under the field's path.
func (b builder) put(body map[string]any, f Field, input string) {
	raw := strings.TrimSpace(b.values.Get(input))
	if f.Input == Points {
		if all := b.values[input]; len(all) > 0 {
			set(body, f.Name, all)
			return
		}
	}
	if raw == "" {
		if f.Need {
			b.wrong[input] = "missing"
		}
		return
	}
	v, err := b.value(f, raw)
	if err != nil {
		b.wrong[input] = err.Error()
		return
	}
	set(body, f.Name, v)
}

func (b builder) value(f Field, raw string) (any, error) {
	switch f.Input {
	case Length:
		figure, unit := withUnit(raw)
		v, err := Measure(figure)
		if err != nil {
			return nil, err
		}
		return events.Length{Value: v, Unit: cmp.Or(unit, b.unit)}, nil
	case Number:
		if strings.HasSuffix(f.Name, "_mm") {
			return mmOf(raw)
		}
		return number(raw)
	case Whole:
		n, err := strconv.Atoi(raw)
		if err != nil {
			return nil, errors.New("a whole number")
		}
		return n, nil
	case Yes, Said:
		return true, nil
	case Outline:
		return outline(raw)
	case Spot:
		return spot(raw)
	case Caps:
		return caps(raw)
	case Reasons:
		return reasons(raw)
	case Numbers:
		return numbers(raw)
	case List, Dates:
		return split(raw, ","), nil
	case Lines:
		return split(raw, "\n"), nil
	}
	return raw, nil
}

func split(raw, between string) []string {
	var out []string
	for _, part := range strings.Split(raw, between) {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

func numbers(raw string) ([]float64, error) {
	var all []float64
	for _, part := range split(raw, ",") {
		v, err := number(part)
		if err != nil {
			return nil, errors.New("numbers with commas between them, such as 9000, 4500.5")
		}
		all = append(all, v)
	}
	return all, nil
}

// outline reads two opposite corners and answers with all four.
func outline(raw string) ([]events.Position, error) {
	var at [4]float64
	parts := strings.Fields(raw)
	if len(parts) != len(at) {
		return nil, errors.New("four numbers with spaces, such as 1.2 0.4 1.8 1.6")
	}
	for i, part := range parts {
		v, err := number(strings.TrimSuffix(part, ","))
		if err != nil {
			return nil, err
		}
		at[i] = v
	}
	return []events.Position{{at[0], at[1]}, {at[2], at[1]}, {at[2], at[3]}, {at[0], at[3]}}, nil
}

// spot reads one place on the plan.
func spot(raw string) (events.Position, error) {
	x, y, _ := strings.Cut(raw, " ")
	across, err1 := number(strings.TrimSuffix(x, ","))
	up, err2 := number(strings.TrimSpace(y))
	if err1 != nil || err2 != nil {
		return events.Position{}, errors.New("two numbers with a space, such as 3.1 2.2")
	}
	return events.Position{across, up}, nil
}

// caps reads mm for each of several supports: "B1-3 5, B1-4 8".
func caps(raw string) ([]events.Cap, error) {
	var all []events.Cap
	const cure = "supports each with its mm, such as B1-3 5, B1-4 8"
	for i, part := range split(raw, ",") {
		at := strings.LastIndex(part, " ")
		if at < 0 && i > 0 && strings.Trim(part, "0123456789") == "" {
			return nil, fmt.Errorf("%s; write %g.%s with a point", cure, all[i-1].MM, part)
		}
		if at < 0 {
			return nil, errors.New(cure)
		}
		mm, err := number(part[at+1:])
		if err != nil {
			return nil, fmt.Errorf("%s; %s has %s", cure, part[:at], part[at+1:])
		}
		all = append(all, events.Cap{Support: strings.TrimSpace(part[:at]), MM: mm})
	}
	return all, nil
}

// withUnit parts a length from the unit written behind it, "" where there is none:
// 12 mm, 1 3/16 in, 1/4″, 0.02 ft.
func withUnit(raw string) (figure string, unit levelling.Unit) {
	raw = strings.TrimSpace(raw)
	for _, s := range []struct {
		suffix string
		unit   levelling.Unit
	}{
		{"mm", levelling.Millimetre}, {"cm", levelling.Centimetre}, {"m", levelling.Metre},
		{"inches", levelling.Inch}, {"in", levelling.Inch}, {"″", levelling.Inch}, {`"`, levelling.Inch}, {"''", levelling.Inch},
		{"feet", levelling.Foot}, {"ft", levelling.Foot}, {"′", levelling.Foot}, {"'", levelling.Foot},
	} {
		if cut, ok := strings.CutSuffix(raw, s.suffix); ok {
			return strings.TrimSpace(cut), s.unit
		}
	}
	return raw, ""
}

// mmOf reads a field of millimetres, which takes another unit behind the figure.
func mmOf(raw string) (float64, error) {
	figure, unit := withUnit(raw)
	if unit == "" {
		return number(raw)
	}
	v, err := Measure(figure)
	if err != nil {
		return 0, err
	}
	return math.Round(v*unit.MM()*1e6) / 1e6, nil
}

func number(raw string) (float64, error) {
	raw = strings.NewReplacer(",", ".", "−", "-", "\u2009", "").Replace(raw)
	v, err := strconv.ParseFloat(raw, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, errors.New("a number, such as 12.5")
	}
	return v, nil
}

// Measure reads a length as it is typed: "1234", "12,5", "-3", or with a
// fraction as tapes in inches have it, "1 3/16".
func Measure(raw string) (float64, error) {
	raw = strings.ReplaceAll(raw, "⁄", "/")
	whole, fraction, mixed := strings.Cut(strings.TrimSpace(raw), " ")
	if !strings.Contains(raw, "/") {
		return number(raw)
	}
	if !mixed {
		whole, fraction = "0", whole
	}
	over, under, _ := strings.Cut(fraction, "/")
	w, err1 := number(whole)
	n, err2 := number(over)
	d, err3 := number(under)
	if errors.Join(err1, err2, err3) != nil || d == 0 {
		return 0, errors.New("a length, such as 1 3/16")
	}
	if strings.HasPrefix(strings.TrimSpace(whole), "-") || strings.HasPrefix(whole, "−") {
		return w - n/d, nil
	}
	return w + n/d, nil
}

// set puts a value under a path such as "tolerance.within_mm".
func set(body map[string]any, path string, v any) {
	for {
		head, rest, deeper := strings.Cut(path, ".")
		if !deeper {
			body[path] = v
			return
		}
		inner, ok := body[head].(map[string]any)
		if !ok {
			inner = map[string]any{}
			body[head] = inner
		}
		body, path = inner, rest
	}
}

// each makes a body for every row.
func (b builder) each(f Form, common map[string]any, rows []row) ([]Body, Wrong) {
	if len(rows) == 0 && len(b.wrong) == 0 {
		b.wrong[f.Rows.RowName(0)+"."+f.Rows.Fields[0].Name] = "missing: fill in at least one row"
	}
	bodies := make([]map[string]any, len(rows))
	names := map[string]string{}
	for i, r := range rows {
		bodies[i] = map[string]any{}
		for k, v := range common {
			bodies[i][k] = v
		}
		for k, v := range r.body {
			bodies[i][k] = v
		}
		for _, field := range f.Rows.Fields {
			names[fmt.Sprintf("%d:%s", i, field.Name)] = r.name + "." + field.Name
		}
	}
	return b.finish(f, bodies, names)
}

// finish checks the bodies as the fold will. names leads from a part of a body
// to the inputs it was made of.
func (b builder) finish(f Form, bodies []map[string]any, names map[string]string) ([]Body, Wrong) {
	if len(b.wrong) > 0 {
		return nil, b.wrong
	}
	var out []Body
	for i, body := range bodies {
		text, err := json.Marshal(body)
		if err != nil {
			return nil, Wrong{"": err.Error()}
		}
		opened, err := events.Open(f.Kind, 1, text)
		if err != nil {
			b.note(err, i, names)
			continue
		}
		out = append(out, Body{text, opened})
	}
	if len(b.wrong) > 0 {
		return nil, b.wrong
	}
	return out, nil
}

// note puts what a check said beside the input it is about.
func (b builder) note(err error, body int, names map[string]string) {
	var bad *levelling.InputError
	if !errors.As(err, &bad) {
		b.wrong[""] = err.Error()
		return
	}
	input := bad.Field
	if named, ok := names[fmt.Sprintf("%d:%s", body, bad.Field)]; ok {
		input = named
	}
	for part, name := range names {
		if rest, ok := strings.CutPrefix(bad.Field, part); ok {
			input = name + rest
		}
	}
	b.wrong[input] = bad.Cure
}

func (b builder) document(f Form) ([]Body, Wrong) {
	text := strings.TrimSpace(b.values.Get("document"))
	if text == "" {
		return nil, Wrong{"document": "missing: paste the plan, or choose a file"}
	}
	opened, err := events.Open(f.Kind, 1, []byte(text))
	var bad *levelling.InputError
	switch {
	case errors.As(err, &bad):
		return nil, Wrong{"document": bad.Field + ": " + bad.Cure}
	case err != nil:
		return nil, Wrong{"document": err.Error()}
	}
	return []Body{{json.RawMessage(text), opened}}, nil
}
