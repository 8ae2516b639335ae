package web

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/levelling"
)

// CorrectionOf is the form with which something that cannot be taken in as it is
// is recorded again, and what of it the address of the form says. What no form
// records becomes a note.
func CorrectionOf(was events.Event) (Form, url.Values) {
	form, ok := FormOf(was.Kind)
	if !ok || was.Kind == events.KindVoid {
		form, _ = FormOf(events.KindNote)
		return form, url.Values{}
	}
	query := url.Values{}
	if sort := textAt(opened(was.Body), "sort"); sort != "" && len(form.Sorts) > 0 {
		query.Set("sort", sort)
	}
	return form, query
}

// Typed is what a form would have to hold for the body of an event, as far as it
// can be read. It is the way back of Bodies.
func (f Form) Typed(body json.RawMessage, sources Sources) url.Values {
	from := opened(body)
	t := typist{values: url.Values{}}
	if len(f.Fields) > 0 && f.Fields[0].Input == Document {
		t.values.Set("document", string(body))
		return t.values
	}
	for _, field := range f.Of(textAt(from, "sort")).Fields {
		t.put(from, field, field.Name)
	}
	if f.Rows != nil {
		t.rows(f, from, sources)
	}
	t.values.Set("unit", string(t.unit))
	return t.values
}

// typist fills in a form. All its lengths are in the unit of the first one.
type typist struct {
	values url.Values
	unit   levelling.Unit
}

func opened(body json.RawMessage) map[string]json.RawMessage {
	var fields map[string]json.RawMessage
	if json.Unmarshal(body, &fields) != nil {
		return nil
	}
	return fields
}

func textAt(fields map[string]json.RawMessage, name string) (text string) {
	json.Unmarshal(fields[name], &text) // what is no text says nothing
	return text
}

// rows fills in the rows of a form. One about something that the job does not
// have takes the place of one that stays empty.
func (t *typist) rows(f Form, from map[string]json.RawMessage, sources Sources) {
	var entries []map[string]json.RawMessage
	if f.Once {
		entries = append(entries, from)
	} else {
		json.Unmarshal(from[f.Rows.Name], &entries)
	}
	keys := f.Rows.Keys(sources)
	taken := map[int]bool{}
	at := make([]int, len(entries))
	for i, entry := range entries {
		at[i] = -1
		for k, key := range keys {
			if f.Rows.Key != "" && !taken[k] && key.Value == textAt(entry, f.Rows.Key) {
				at[i], taken[k] = k, true
				break
			}
		}
	}
	for i, entry := range entries {
		for k := 0; at[i] < 0 && k < len(keys); k++ {
			if !taken[k] {
				at[i], taken[k] = k, true
			}
		}
		if at[i] < 0 {
			continue
		}
		name := f.Rows.RowName(at[i])
		if f.Rows.Key != "" {
			t.values.Set(name, textAt(entry, f.Rows.Key))
		}
		for _, field := range f.Rows.Fields {
			t.put(entry, field, name+"."+field.Name)
		}
	}
}

// put fills in one field from the part of a body that its name leads to.
func (t *typist) put(from map[string]json.RawMessage, f Field, input string) {
	path := strings.Split(f.Name, ".")
	for _, part := range path[:len(path)-1] {
		from = opened(from[part])
	}
	raw, given := from[path[len(path)-1]]
	if !given {
		return
	}
	if f.Input == Points {
		var all []string
		if json.Unmarshal(raw, &all) == nil && len(all) > 0 {
			t.values[input] = all
		}
		return
	}
	if text := t.typed(f, raw); text != "" {
		t.values.Set(input, text)
	}
}

func (t *typist) typed(f Field, raw json.RawMessage) string {
	switch f.Input {
	case Length:
		return t.length(raw)
	case Number, Whole:
		return listed[float64](raw, "", writeNumber)
	case Yes:
		var on bool
		if json.Unmarshal(raw, &on); on {
			return "yes"
		}
		return ""
	case List, Dates:
		return listed(raw, ", ", strings.TrimSpace)
	case Lines:
		return listed(raw, "\n", strings.TrimSpace)
	case Numbers:
		return listed(raw, ", ", writeNumber)
	case Caps:
		return listed(raw, ", ", func(c events.Cap) string { return c.Support + " " + writeNumber(c.MM) })
	case Spot:
		return listed(raw, " ", writeNumber)
	case Outline:
		var corners []events.Position
		if json.Unmarshal(raw, &corners) != nil || len(corners) < 3 {
			return ""
		}
		a, b := corners[0], corners[2]
		return fmt.Sprintf("%s %s %s %s", writeNumber(a[0]), writeNumber(a[1]), writeNumber(b[0]), writeNumber(b[1]))
	}
	return listed(raw, ", ", strings.TrimSpace)
}

// length writes a length in the unit of the form.
func (t *typist) length(raw json.RawMessage) string {
	var l events.Length
	if json.Unmarshal(raw, &l) != nil {
		return ""
	}
	if t.unit == "" {
		t.unit = l.Unit
	}
	if t.unit == l.Unit {
		return writeNumber(l.Value)
	}
	return writeNumber(l.MM() / t.unit.MM())
}

// listed writes one value, or several with something between them.
func listed[T any](raw json.RawMessage, between string, write func(T) string) string {
	var one T
	if json.Unmarshal(raw, &one) == nil {
		return write(one)
	}
	var all []T
	if json.Unmarshal(raw, &all) != nil {
		return ""
	}
	words := make([]string, len(all))
	for i, v := range all {
		words[i] = write(v)
	}
	return strings.Join(words, between)
}

func writeNumber(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
