package openapi

import (
	"bytes"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"time"
	"unicode"
)

// Schema is a form of JSON (JSON Schema 2020-12), as far as it is needed here.
type Schema struct {
	Ref        string     `json:"$ref,omitempty"`
	Words      string     `json:"description,omitempty"`
	Type       any        `json:"type,omitempty"` // a name, or several
	Format     string     `json:"format,omitempty"`
	Pattern    string     `json:"pattern,omitempty"`
	Encoding   string     `json:"contentEncoding,omitempty"`
	Const      string     `json:"const,omitempty"`
	Enum       []string   `json:"enum,omitempty"`
	Minimum    *float64   `json:"minimum,omitempty"`
	Maximum    *float64   `json:"maximum,omitempty"`
	MaxLength  int        `json:"maxLength,omitempty"`
	Items      *Schema    `json:"items,omitempty"`
	MinItems   int        `json:"minItems,omitempty"`
	MaxItems   int        `json:"maxItems,omitempty"`
	Properties Properties `json:"properties,omitempty"`
	Required   []string   `json:"required,omitempty"`
	More       any        `json:"additionalProperties,omitempty"` // false, or the form of what else there is
	OneOf      []*Schema  `json:"oneOf,omitempty"`
	AllOf      []*Schema  `json:"allOf,omitempty"`
	If         *Schema    `json:"if,omitempty"`
	Then       *Schema    `json:"then,omitempty"`
}

// Properties are the fields of an object, in order.
type Properties []Property

// Property is one of them.
type Property struct {
	Name   string
	Schema *Schema
}

// MarshalJSON writes them as the object that they are, in their order.
func (p Properties) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, one := range p {
		name, err := json.Marshal(one.Name)
		if err != nil {
			return nil, err
		}
		form, err := json.Marshal(one.Schema)
		if err != nil {
			return nil, err
		}
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, "%s:%s", name, form)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// Number is a number within bounds.
func Number(low, high float64) Schema { return Schema{Type: "number", Minimum: &low, Maximum: &high} }

// Whole is a whole number within bounds.
func Whole(low, high float64) Schema { return Schema{Type: "integer", Minimum: &low, Maximum: &high} }

// OneOf is a text out of a list.
func OneOf(values ...string) Schema { return Schema{Type: "string", Enum: values} }

// schemaPath is where forms that have names stand in the document.
const schemaPath = "#/components/schemas/"

// writer makes schemas of Go types and keeps those that have names.
type writer struct {
	schemas map[string]*Schema
	types   map[string]string // which Go type has a name
	err     error
}

func (w *writer) fail(err error) { w.err = errors.Join(w.err, err) }

// vary adds to a form that a field of it goes by another.
func (w *writer) vary(v Variants) {
	if v.Of == nil {
		return
	}
	whole := w.schemas[strings.TrimPrefix(w.of(v.Of).Ref, schemaPath)]
	for _, name := range slices.Sorted(maps.Keys(v.Forms)) {
		is := &Schema{Properties: Properties{{v.By, &Schema{Const: name}}}}
		has := &Schema{Properties: Properties{{v.Field, w.of(v.Forms[name])}}}
		whole.AllOf = append(whole.AllOf, &Schema{If: is, Then: has})
	}
}

// of is the schema of a Schema, of Fields, or of a Go value's type.
func (w *writer) of(v any) *Schema {
	switch v := v.(type) {
	case Schema:
		return &v
	case Fields:
		return w.fields(v)
	}
	return w.typed(reflect.TypeOf(v))
}

func (w *writer) fields(list Fields) *Schema {
	s := &Schema{Type: "object"}
	for _, f := range list {
		form := *w.of(f.Of)
		if f.Words != "" {
			form.Words = f.Words
		}
		if t := reflect.TypeOf(f.Of); t.Kind() == reflect.Pointer && !f.Maybe {
			form = *orNull(&form)
		}
		s.Properties = append(s.Properties, Property{f.Name, &form})
		if !f.Maybe {
			s.Required = append(s.Required, f.Name)
		}
	}
	return s
}

// sent is the schema of what is sent: not all that an answer has need be there, and
// what nobody knows is refused.
func (w *writer) sent(b Body) *Schema {
	if b.Of == nil {
		return nil
	}
	s := w.of(b.Of)
	if name, ok := strings.CutPrefix(s.Ref, schemaPath); ok && (b.Needs != nil || b.Without != nil) {
		s = w.schemas[name]
	}
	if s.Type != "object" {
		return s
	}
	form := *s
	form.Properties = slices.DeleteFunc(slices.Clone(s.Properties), func(p Property) bool { return slices.Contains(b.Without, p.Name) })
	if b.Needs != nil || b.Without != nil {
		form.Required = b.Needs
	}
	if !b.Open {
		form.More = false
	}
	return &form
}

var (
	textType = reflect.TypeFor[encoding.TextMarshaler]()
	rawType  = reflect.TypeFor[json.RawMessage]()
	timeType = reflect.TypeFor[time.Time]()
)

// typed is the schema of a Go type as encoding/json writes it.
func (w *writer) typed(t reflect.Type) *Schema {
	if known, ok := special[nameOf(t)]; ok {
		return w.named(t, func() *Schema { s := known; return &s })
	}
	switch {
	case t.Kind() == reflect.Pointer:
		return w.typed(t.Elem())
	case t == timeType:
		return &Schema{Type: "string", Format: "date-time"}
	case t == rawType, t.Kind() == reflect.Interface:
		return &Schema{}
	case t.Implements(textType):
		w.fail(fmt.Errorf("%s writes itself, and nothing says how", t))
		return &Schema{}
	}
	switch t.Kind() {
	case reflect.Bool:
		return &Schema{Type: "boolean"}
	case reflect.String:
		return w.text(t)
	case reflect.Float64:
		return &Schema{Type: "number"}
	case reflect.Int, reflect.Int64:
		return &Schema{Type: "integer"}
	case reflect.Slice, reflect.Array:
		return w.list(t)
	case reflect.Map:
		return &Schema{Type: "object", More: w.typed(t.Elem())}
	case reflect.Struct:
		return w.named(t, func() *Schema { return w.object(t) })
	}
	w.fail(fmt.Errorf("%s has no form in JSON that is known here", t))
	return &Schema{}
}

func (w *writer) text(t reflect.Type) *Schema {
	words := wordsOf(t)
	if len(words.Values) == 0 {
		return &Schema{Type: "string"}
	}
	return w.named(t, func() *Schema { return &Schema{Type: "string", Words: words.Doc, Enum: words.Values} })
}

func (w *writer) list(t reflect.Type) *Schema {
	if t.Elem().Kind() == reflect.Uint8 {
		return &Schema{Type: "string", Encoding: "base64"}
	}
	s := &Schema{Type: "array", Items: w.typed(t.Elem())}
	if t.Kind() == reflect.Array {
		s.MinItems, s.MaxItems = t.Len(), t.Len()
	}
	return s
}

// named keeps a schema under the name of its type and refers to it.
func (w *writer) named(t reflect.Type, make func() *Schema) *Schema {
	name := componentOf(t)
	ref := &Schema{Ref: schemaPath + name}
	if known, ok := w.types[name]; ok {
		if known != nameOf(t) {
			w.fail(fmt.Errorf("%s and %s have the same name", known, nameOf(t)))
		}
		return ref
	}
	w.types[name] = nameOf(t)
	w.schemas[name] = &Schema{} // a type may hold itself
	*w.schemas[name] = *make()
	return ref
}

// componentOf names a type's schema. What lies in events and is drawn or recorded
// bears its package's name: the state has other things of the same names.
func componentOf(t reflect.Type) string {
	name := []rune(t.Name())
	name[0] = unicode.ToUpper(name[0])
	pkg, _, _ := strings.Cut(nameOf(t), ".")
	if pkg == "events" && t.Kind() == reflect.Struct {
		return "events." + string(name)
	}
	if pkg == "levelling" {
		return "levelling." + string(name)
	}
	return string(name)
}

// nameOf is a type's name with its package's: events.ID.
func nameOf(t reflect.Type) string {
	path := t.PkgPath()
	return path[strings.LastIndexByte(path, '/')+1:] + "." + t.Name()
}

func (w *writer) object(t reflect.Type) *Schema {
	s := &Schema{Type: "object", Words: wordsOf(t).Doc}
	w.addFields(s, t)
	return s
}

// addFields adds the fields of a struct, those of embedded ones among them.
func (w *writer) addFields(s *Schema, t reflect.Type) {
	words := wordsOf(t)
	for i := range t.NumField() {
		f := t.Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "-" || !f.IsExported() && !f.Anonymous {
			continue
		}
		if f.Anonymous && name == "" {
			w.addFields(s, f.Type)
			continue
		}
		if name == "" {
			w.fail(fmt.Errorf("%s.%s has no name in JSON", t, f.Name))
		}
		form := *w.typed(f.Type)
		if said := words.Fields[f.Name]; said != "" {
			form.Words = said
		}
		if options == "" {
			s.Required = append(s.Required, name)
			if f.Type.Kind() == reflect.Pointer {
				form = *orNull(&form)
			}
		}
		s.Properties = append(s.Properties, Property{name, &form})
	}
}

// orNull lets nothing stand in a value's place.
func orNull(s *Schema) *Schema {
	words := s.Words
	plain := *s
	plain.Words = ""
	return &Schema{Words: words, OneOf: []*Schema{&plain, {Type: "null"}}}
}
