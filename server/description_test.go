package server_test

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// The document is one of OpenAPI 3.1, and every schema in it can be used.
func TestDescriptionIsOpenAPI(t *testing.T) {
	text, err := os.ReadFile("testdata/openapi-3.1-schema.json")
	must(t, err)
	form, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	must(t, err)
	c := jsonschema.NewCompiler()
	must(t, c.AddResource("openapi.json", form))
	openAPI, err := c.Compile("openapi.json")
	must(t, err)
	d, err := theDescription()
	must(t, err)
	if err := openAPI.Validate(any(d.doc)); err != nil {
		t.Error(err)
	}
	broken := map[string]any{"openapi": "3.1.0", "info": map[string]any{"title": "no version"}, "paths": map[string]any{}}
	if openAPI.Validate(any(broken)) == nil {
		t.Error("a document without a version passes: this shows nothing")
	}
	for name := range d.doc["components"].(map[string]any)["schemas"].(map[string]any) {
		if _, err := d.schema("components", "schemas", name); err != nil {
			t.Error(err)
		}
	}
}

// Every route of the API is described, and what is described is a route.
func TestEveryRouteIsDescribed(t *testing.T) {
	d, err := theDescription()
	must(t, err)
	routes, err := newSite(t).app.Routes()
	must(t, err)
	var want, got []string
	for _, route := range routes {
		if method, path, _ := strings.Cut(route, " "); strings.HasPrefix(path, "/api/v1/") {
			want = append(want, method+" "+strings.TrimPrefix(path, "/api/v1"))
		}
	}
	for _, r := range d.routes {
		got = append(got, r.method+" "+r.path)
	}
	for _, route := range want {
		if !slices.Contains(got, route) {
			t.Errorf("%s is not described: add an operation beside its kin in operations_*.go", route)
		}
	}
	for _, route := range got {
		if !slices.Contains(want, route) {
			t.Errorf("%s is described and is no route", route)
		}
	}
}

// The fixture of every kind of event fits the envelope with its form, and does not
// without a field that the form asks for; nor can the event be opened then.
func TestEveryKindIsDescribed(t *testing.T) {
	d, err := theDescription()
	must(t, err)
	at := []string{"components", "schemas", "events.Event"}
	for _, kind := range kindsWithFixtures(t) {
		must(t, d.fits(at, []byte(kind.envelope(t, kind.body))))
		needed := d.neededBy(t, kind.name)
		for _, field := range needed {
			less := map[string]any{}
			for name, v := range kind.body {
				if name != field {
					less[name] = v
				}
			}
			if d.fits(at, []byte(kind.envelope(t, less))) == nil {
				t.Errorf("%s without %s fits its description", kind.name, field)
			}
			switch kind.body[field].(type) {
			case bool, float64:
				continue // one that is missing reads as no, or as nought
			}
			if kind.opens(t, less) {
				t.Errorf("%s is opened without %s, which its description asks for", kind.name, field)
			}
		}
	}
}

// neededBy lists the fields that the form of a kind asks for.
func (d *described) neededBy(t *testing.T, kind string) (fields []string) {
	t.Helper()
	schemas := d.doc["components"].(map[string]any)["schemas"].(map[string]any)
	for _, one := range schemas["events.Event"].(map[string]any)["allOf"].([]any) {
		text, err := json.Marshal(one)
		must(t, err)
		var form struct {
			If struct {
				Properties struct{ Kind struct{ Const string } }
			}
			Then struct {
				Properties struct {
					Body struct {
						Ref string `json:"$ref"`
					}
				}
			}
		}
		must(t, json.Unmarshal(text, &form))
		if form.If.Properties.Kind.Const == kind {
			for _, name := range asList(schemas[strings.TrimPrefix(form.Then.Properties.Body.Ref, "#/components/schemas/")].(map[string]any)["required"]) {
				fields = append(fields, name.(string))
			}
			return fields
		}
	}
	t.Errorf("%s is not described", kind)
	return nil
}

func asList(v any) []any { list, _ := v.([]any); return list }
