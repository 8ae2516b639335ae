package server_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"relevel/levelling/frozentest"
)

const releasedAPI = "testdata/released/api"

// Programs that were written against the API of a release go on working: no address
// and no field of it is taken away, and none changes its sort. What is added is passed
// over by a reader, as the description says, and a writer never has to send more.
func TestReleasedAPI(t *testing.T) {
	description, err := theDescription()
	must(t, err)
	d := description.doc
	now := map[string]string{}
	flatten(now, "", d["paths"])
	schemas, _ := d["components"].(map[string]any)["schemas"].(map[string]any)
	flatten(now, "form", schemas)
	frozentest.Hold(t, releasedAPI, now)
	sent := map[string]bool{}
	for _, path := range d["paths"].(map[string]any) {
		for _, operation := range path.(map[string]any) {
			if o, ok := operation.(map[string]any); ok {
				reached(sent, schemas, o["requestBody"])
			}
		}
	}
	for _, l := range frozentest.Lists(t, releasedAPI) {
		for _, fault := range demanded(l.Values, now, sent) {
			t.Errorf("%s, which programs written for %s do not send", fault, l.Release)
		}
	}
}

// Words, bounds that may be loosened, and what is answered in place of what was asked
// for are no part of what is held.
var unheld = map[string]bool{
	"description": true, "summary": true, "title": true, "example": true, "examples": true, "tags": true, "operationId": true,
	"minimum": true, "maximum": true, "exclusiveMinimum": true, "exclusiveMaximum": true, "minLength": true, "maxLength": true,
	"minItems": true, "maxItems": true, "pattern": true, "default": true, "security": true, "headers": true,
}

// flatten notes each fact of a description on a line of its own, by its path.
func flatten(facts map[string]string, path string, v any) {
	switch v := v.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			// A field may be called as a word of the description.
			if (unheld[key] || key[0] >= '4' && key[0] <= '5') && !strings.HasSuffix(path, " properties") {
				continue
			}
			flatten(facts, strings.TrimSpace(path+" "+key), v[key])
		}
	case []any:
		for i, one := range v {
			flatten(facts, path+" "+namedBy(one, i), one)
		}
	case string:
		facts[path] = strings.TrimPrefix(v, "#/components/schemas/")
	default:
		facts[path] = fmt.Sprint(v)
	}
}

// namedBy names an element of a list by what it is, so that its place does not count.
func namedBy(v any, i int) string {
	switch v := v.(type) {
	case string:
		return v
	case map[string]any:
		for _, key := range []string{"name", "$ref", "const"} {
			if name, ok := v[key].(string); ok {
				return name
			}
		}
		if when, ok := v["if"].(map[string]any); ok { // the form of one kind
			return "if " + fmt.Sprint(when["properties"])
		}
	}
	return fmt.Sprint(i)
}

// reached collects the named forms that a part of the description leads to.
func reached(found map[string]bool, schemas map[string]any, v any) {
	switch v := v.(type) {
	case map[string]any:
		for key, inner := range v {
			name, isRef := inner.(string)
			if key == "$ref" && isRef {
				name = name[strings.LastIndex(name, "/")+1:]
				if !found[name] {
					found[name] = true
					reached(found, schemas, schemas[name])
				}
				continue
			}
			reached(found, schemas, inner)
		}
	case []any:
		for _, inner := range v {
			reached(found, schemas, inner)
		}
	}
}

// demanded lists what has to be sent now and had not before: fields of forms that were
// there, and parameters of operations that were there.
func demanded(then, now map[string]string, sent map[string]bool) (faults []string) {
	for name := range now {
		if _, old := then[name]; old {
			continue
		}
		if form, field, ok := strings.Cut(name, " required "); ok && strings.HasPrefix(form, "form ") {
			words := strings.Fields(form)
			if _, there := then[form+" type"]; there && sent[words[1]] {
				faults = append(faults, fmt.Sprintf("%s asks for %s", form, field))
			}
		}
		if parameter, ok := strings.CutSuffix(name, " required"); ok && now[name] == "true" {
			if operation, _, _ := strings.Cut(parameter, " parameters "); strings.Contains(parameter, " parameters ") && hasFact(then, operation+" ") {
				faults = append(faults, parameter+" has to be given")
			}
		}
	}
	slices.Sort(faults)
	return faults
}

func hasFact(facts map[string]string, prefix string) bool {
	for name := range facts {
		if strings.HasPrefix(name, prefix) {
			return true
		}
	}
	return false
}

func TestDemanded(t *testing.T) {
	then := map[string]string{"form A type": "object", "form B type": "object", "/a get parameters x name": "x"}
	now := map[string]string{
		"form A type": "object", "form A required new": "new", // sent
		"form B type": "object", "form B required new": "new", // only answered
		"form C type": "object", "form C required new": "new", // not there before
		"/a get parameters x name": "x", "/a get parameters y required": "true", "/b get parameters z required": "true",
	}
	got := strings.Join(demanded(then, now, map[string]bool{"A": true, "C": true}), "; ")
	if want := "/a get parameters y has to be given; form A asks for new"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
