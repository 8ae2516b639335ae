package openapi

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
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

// Component is the name of the form that a schema refers to, if any.
func (s *Schema) Component() string { return strings.TrimPrefix(s.Ref, schemaPath) }

// Variants are the names of the forms that Variants.Forms have, by their key.
func (d *Document) Variants() map[string]string {
	all := map[string]string{}
	for _, s := range d.Components.Schemas {
		for _, one := range s.AllOf {
			all[one.If.Properties[0].Schema.Const] = one.Then.Properties[0].Schema.Component()
		}
	}
	return all
}

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
