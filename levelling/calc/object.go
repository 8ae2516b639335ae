package calc

import (
	"slices"
	"strings"

	"relevel/levelling"
)

// object hands out the fields of a JSON object by name and kind. The first
// field that is missing or of the wrong kind is kept; from then on it still
// hands out fields, as zeros, so that a calculator reads its whole input
// straight down and asks once, by ok, whether to reckon with it.
//
// Each accessor takes, beside the name, what the field takes: the cure of its
// errors. null counts as left out.
type object struct {
	path   string
	fields map[string]any
	known  []string // the names asked for so far
	input  *input
}

// input is what the objects of one input share.
type input struct {
	err     error     // the first field missing or of the wrong kind
	objects []*object // all that were opened, in order
}

func newObject(fields map[string]any) *object {
	return (&input{}).open("", fields)
}

func (in *input) open(path string, fields map[string]any) *object {
	o := &object{path: path, fields: fields, input: in}
	in.objects = append(in.objects, o)
	return o
}

// fail keeps the first error of the input.
func (in *input) fail(path, cure string) {
	if in.err == nil {
		in.err = levelling.Bad(path, cure)
	}
}

// ok reports that no field asked for so far was missing or of the wrong kind,
// and that no object opened so far holds a field that was not asked for.
func (o *object) ok() bool { return o.finish() == nil }

// finish returns the error of the input: a field that nobody asked for, which
// explains a missing one when a name is misspelt, or else the first that was
// missing or of the wrong kind.
func (o *object) finish() error {
	for _, each := range o.input.objects {
		if err := each.stray(); err != nil {
			return err
		}
	}
	return o.input.err
}

// stray refuses the first field, by alphabet, that was not asked for.
func (o *object) stray() error {
	var strays []string
	for name := range o.fields {
		if !slices.Contains(o.known, name) {
			strays = append(strays, name)
		}
	}
	if len(strays) == 0 {
		return nil
	}
	return levelling.Bad(join(o.path, slices.Min(strays)), "no such field; there are "+strings.Join(o.known, ", "))
}

// take returns a field and whether it is there.
func (o *object) take(name string) (any, bool) {
	if !slices.Contains(o.known, name) {
		o.known = append(o.known, name)
	}
	v := o.fields[name]
	return v, v != nil
}

// fail refuses a field of this object.
func (o *object) fail(name, cure string) { o.input.fail(join(o.path, name), cure) }

// need returns a field that must be there.
func (o *object) need(name, cure string) (any, bool) {
	v, ok := o.take(name)
	if !ok {
		o.fail(name, cure+"; it is missing")
	}
	return v, ok
}

// number returns a number that must be there.
func (o *object) number(name, cure string) float64 {
	v, ok := o.need(name, cure)
	if !ok {
		return 0
	}
	return o.asNumber(name, v, cure)
}

// numberOr returns a number that may be left out.
func (o *object) numberOr(name string, otherwise float64, cure string) float64 {
	if x := o.numberIf(name, cure); x != nil {
		return *x
	}
	return otherwise
}

// numberIf returns a number that may be left out, nil when it is.
func (o *object) numberIf(name, cure string) *float64 {
	v, ok := o.take(name)
	if !ok {
		return nil
	}
	x := o.asNumber(name, v, cure)
	return &x
}

func (o *object) asNumber(name string, v any, cure string) float64 {
	x, ok := v.(float64)
	if !ok {
		o.fail(name, "a number, "+cure+"; not "+kind(v))
	}
	return x
}

// text returns a text that must be there and hold something.
func (o *object) text(name, cure string) string {
	v, ok := o.need(name, cure)
	if !ok {
		return ""
	}
	return o.asText(name, v, cure)
}

// textIf returns a text that may be left out, "" when it is.
func (o *object) textIf(name, cure string) string {
	v, ok := o.take(name)
	if !ok {
		return ""
	}
	return o.asText(name, v, cure)
}

func (o *object) asText(name string, v any, cure string) string {
	s, ok := v.(string)
	switch {
	case !ok:
		o.fail(name, "text, "+cure+"; not "+kind(v))
	case s == "":
		o.fail(name, cure+"; it is empty")
	}
	return s
}

// flag returns true or false; left out it is false.
func (o *object) flag(name, cure string) bool { return o.flagOr(name, false, cure) }

// flagOr returns true or false, which may be left out.
func (o *object) flagOr(name string, otherwise bool, cure string) bool {
	v, ok := o.take(name)
	if !ok {
		return otherwise
	}
	yes, ok := v.(bool)
	if !ok {
		o.fail(name, "true or false, "+cure+"; not "+kind(v))
	}
	return yes
}

// choice returns one of a few texts, which must be there.
func (o *object) choice(name string, of ...string) string {
	cure := "one of " + strings.Join(of, ", ")
	s := o.text(name, cure)
	if s != "" && !slices.Contains(of, s) {
		o.fail(name, cure)
	}
	return s
}

// object returns an object that must be there. When it is not, what comes back
// answers every question with zero.
func (o *object) object(name, cure string) *object {
	v, ok := o.need(name, cure)
	if !ok {
		return &object{path: join(o.path, name), input: o.input}
	}
	return o.asObject(name, v, cure)
}

// objectIf returns an object that may be left out, nil when it is.
func (o *object) objectIf(name, cure string) *object {
	v, ok := o.take(name)
	if !ok {
		return nil
	}
	return o.asObject(name, v, cure)
}

func (o *object) asObject(name string, v any, cure string) *object {
	fields, ok := v.(map[string]any)
	if !ok {
		o.fail(name, "an object, "+cure+"; not "+kind(v))
	}
	return o.input.open(join(o.path, name), fields)
}

// objects returns a list of objects that must be there and hold at least one.
func (o *object) objects(name, cure string) []*object {
	v, ok := o.need(name, cure)
	if !ok {
		return nil
	}
	list := o.asObjects(name, v, cure)
	if len(list) == 0 {
		o.fail(name, cure+"; it is empty")
	}
	return list
}

// objectsIf returns a list of objects that may be left out or be empty.
func (o *object) objectsIf(name, cure string) []*object {
	v, ok := o.take(name)
	if !ok {
		return nil
	}
	return o.asObjects(name, v, cure)
}

func (o *object) asObjects(name string, v any, cure string) []*object {
	var list []*object
	for i, item := range o.asList(name, v, cure) {
		path := index(join(o.path, name), i)
		fields, ok := item.(map[string]any)
		if !ok {
			o.input.fail(path, "an object; not "+kind(item))
		}
		list = append(list, o.input.open(path, fields))
	}
	return list
}

func (o *object) asList(name string, v any, cure string) []any {
	items, ok := v.([]any)
	if !ok {
		o.fail(name, "a list, "+cure+"; not "+kind(v))
	}
	return items
}
