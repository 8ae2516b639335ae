package server_test

import (
	"bytes"
	"fmt"
	"mime"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"relevel/server"
)

// described is the description of the API as a program reads it that knows nothing
// else of this one. In strict, nothing may stand in an answer that is not described.
type described struct {
	doc     map[string]any
	strict  *jsonschema.Compiler
	routes  []describedRoute
	mu      sync.Mutex
	schemas map[string]*jsonschema.Schema
}

type describedRoute struct {
	method, path string // "/jobs/{job}"
	is           *regexp.Regexp
	does         map[string]any
}

var theDescription = sync.OnceValues(func() (*described, error) {
	text, err := server.Described()
	if err != nil {
		return nil, err
	}
	return readDescription(text)
})

func readDescription(text []byte) (*described, error) {
	d := &described{strict: jsonschema.NewCompiler(), schemas: map[string]*jsonschema.Schema{}}
	d.strict.AssertFormat()
	loose, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return nil, err
	}
	d.doc = loose.(map[string]any)
	closed, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return nil, err
	}
	closeObjects(closed)
	if err := d.strict.AddResource("described.json", closed); err != nil {
		return nil, err
	}
	variable := regexp.MustCompile(`\\\{[^}]*\\\}`)
	for path, methods := range d.doc["paths"].(map[string]any) {
		is := regexp.MustCompile("^" + variable.ReplaceAllString(regexp.QuoteMeta(path), "[^/]+") + "$")
		for method, does := range methods.(map[string]any) {
			d.routes = append(d.routes, describedRoute{strings.ToUpper(method), path, is, does.(map[string]any)})
		}
	}
	return d, nil
}

// closeObjects lets no object have fields that are not described.
func closeObjects(v any) {
	switch v := v.(type) {
	case map[string]any:
		if _, has := v["properties"]; has && v["type"] == "object" && v["additionalProperties"] == nil {
			v["additionalProperties"] = false
		}
		for _, one := range v {
			closeObjects(one)
		}
	case []any:
		for _, one := range v {
			closeObjects(one)
		}
	}
}

// schema compiles the schema at a place of the document.
func (d *described) schema(place ...string) (*jsonschema.Schema, error) {
	at := "described.json#"
	for _, name := range place {
		at += "/" + strings.NewReplacer("~", "~0", "/", "~1", "%", "%25").Replace(name)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if known, ok := d.schemas[at]; ok {
		return known, nil
	}
	s, err := d.strict.Compile(at)
	d.schemas[at] = s
	return s, err
}

// find is the operation at an address below /api/v1.
func (d *described) find(method, path string) (describedRoute, bool) {
	path, _, _ = strings.Cut(path, "?")
	if method == http.MethodHead {
		method = http.MethodGet
	}
	i := slices.IndexFunc(d.routes, func(r describedRoute) bool { return r.method == method && r.is.MatchString(path) })
	if i < 0 {
		return describedRoute{}, false
	}
	return d.routes[i], true
}

// check says in what an exchange is not as it is described.
func (d *described) check(method, path string, sent []byte, a answer) error {
	r, known := d.find(method, path)
	if !known {
		if a.status == http.StatusNotFound || a.status == http.StatusMethodNotAllowed {
			return nil
		}
		return fmt.Errorf("%s %s answers %d and is not described", method, path, a.status)
	}
	at := []string{"paths", r.path, strings.ToLower(r.method)}
	if err := d.checkSent(r, at, sent, a.status); err != nil {
		return fmt.Errorf("%s %s took what is not described: %w", method, path, err)
	}
	status := strconv.Itoa(a.status)
	answers := r.does["responses"].(map[string]any)
	one, ok := answers[status].(map[string]any)
	if !ok {
		return fmt.Errorf("%s %s answers %s, which is not described", method, r.path, status)
	}
	at = append(at, "responses", status)
	if ref, ok := one["$ref"].(string); ok {
		at = strings.Split(strings.TrimPrefix(ref, "#/"), "/")
		one = d.doc[at[0]].(map[string]any)[at[1]].(map[string]any)[at[2]].(map[string]any)
	}
	for name := range asMap(one["headers"]) {
		if a.header.Get(name) == "" {
			return fmt.Errorf("%s %s: the header %s of %s is missing", method, r.path, name, status)
		}
	}
	if err := d.checkBody(one, at, method, a); err != nil {
		return fmt.Errorf("%s %s, %s: %w", method, path, status, err)
	}
	return nil
}

func asMap(v any) map[string]any { m, _ := v.(map[string]any); return m }

func (d *described) checkBody(one map[string]any, at []string, method string, a answer) error {
	content := asMap(one["content"])
	if len(content) == 0 || method == http.MethodHead {
		if len(a.body) > 0 {
			return fmt.Errorf("a body where none is described: %.200s", a.body)
		}
		return nil
	}
	media, _, err := mime.ParseMediaType(a.header.Get("Content-Type"))
	if err != nil {
		return err
	}
	form, ok := content[media].(map[string]any)
	if !ok {
		return fmt.Errorf("a media type that is not described: %s", media)
	}
	if form["schema"] == nil || !strings.HasSuffix(media, "json") {
		return nil
	}
	return d.fits(append(at, "content", media, "schema"), a.body)
}

// checkSent holds what the server took to what it says it takes. Events are not:
// they are never refused.
func (d *described) checkSent(r describedRoute, at []string, sent []byte, status int) error {
	body := asMap(asMap(r.does["requestBody"])["content"])
	if status >= 400 || strings.HasSuffix(r.path, "/events") {
		return nil
	}
	if asMap(body["application/json"])["schema"] == nil {
		return nil
	}
	return d.fits(append(slices.Clone(at), "requestBody", "content", "application/json", "schema"), sent)
}

func (d *described) fits(at []string, text []byte) error {
	schema, err := d.schema(at...)
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return fmt.Errorf("no JSON: %w: %.200s", err, text)
	}
	return schema.Validate(v)
}

// asDescribed holds one exchange to the description of the API.
func asDescribed(t *testing.T, method, path string, sent []byte, a answer) {
	t.Helper()
	d, err := theDescription()
	if err != nil {
		t.Error(err)
		return
	}
	if err := d.check(method, path, sent, a); err != nil {
		t.Errorf("not as the API is described: %v", err)
	}
}
