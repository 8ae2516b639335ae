package openapi

import (
	"encoding"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"time"
	"unicode"
)

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
