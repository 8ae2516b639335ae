// Package openapi writes down an API as OpenAPI 3.1 does. The forms of what is sent
// and answered come from the Go types that the server works with, the words for their
// fields from the comments on them; what an operation is for is written by hand.
package openapi

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
)

// Operation is one thing that the API does.
type Operation struct {
	Route   string // "GET /jobs/{job}", below the address of the API
	Noun    string // what it is about, a heading
	Title   string // what it does, in a few words
	Words   string // what else there is to know
	Query   []Parameter
	Headers []Parameter // of the request, beside the access
	Takes   *Body       // nil where nothing is sent
	Answers []Answer    // that are no problem
	Refused map[int]string
	Open    bool // it takes no access
}

// Parameter is a value in the address or a header. Of is a value of its Go type, or
// a Schema.
type Parameter struct {
	Name   string
	Words  string
	Of     any
	Needed bool
}

// Body is what is sent.
type Body struct {
	Of      any      // a value of its Go type, Fields, or a Schema
	Needs   []string // the fields that have to be there
	Without []string // the fields that the server fills in itself
	Media   []string // JSON unless said
	Open    bool     // fields that nobody knows are passed over, not refused
}

// Answer is what comes back.
type Answer struct {
	Status  int
	Words   string
	Of      any      // as in Body; nil where the answer has no body, or one that is no JSON
	Media   []string // JSON unless said
	Headers []Parameter
}

// Fields are an object that has no Go type of its own, in order.
type Fields []Field

// Field is one of them.
type Field struct {
	Name  string
	Of    any
	Words string
	Maybe bool // it may be missing
}

// Method is the HTTP method of an operation.
func (o Operation) Method() string { method, _, _ := strings.Cut(o.Route, " "); return method }

// Path is its address below that of the API.
func (o Operation) Path() string { _, path, _ := strings.Cut(o.Route, " "); return path }

// ID names an operation by its address: get-jobs-job-events.
func (o Operation) ID() string {
	return strings.Trim(strings.NewReplacer("/", "-", "{", "", "}", "", ".", "-").Replace(strings.ToLower(o.Method())+o.Path()), "-")
}

// variables are the names in braces in an address.
func variables(path string) (names []string) {
	for part := range strings.SplitSeq(path, "/") {
		if strings.HasPrefix(part, "{") {
			names = append(names, strings.Trim(part, "{}"))
		}
	}
	return names
}

// API is a whole one.
type API struct {
	Title      string
	Version    string
	Words      string
	Address    string // below which its operations are: "/api/v1"
	Operations []Operation
	Variables  map[string]Parameter // by their name in an address
	Refused    map[int]string       // what any operation may answer
	Problem    any                  // the form of all of these
	Heard      []Parameter          // headers of every answer
	Variants   Variants
}

// Variants say which form one field of an object has, by the text in another.
type Variants struct {
	Of    any // a value of the object's Go type
	By    string
	Field string
	Forms map[string]any
}

// Document is an API as OpenAPI 3.1 has it, ready for JSON.
type Document struct {
	OpenAPI    string                             `json:"openapi"`
	Info       info                               `json:"info"`
	Servers    []server                           `json:"servers"`
	Security   []map[string][]string              `json:"security"`
	Tags       []tag                              `json:"tags"`
	Paths      map[string]map[string]operationDoc `json:"paths"`
	Components components                         `json:"components"`
}

type info struct {
	Title       string `json:"title"`
	Version     string `json:"version"`
	Description string `json:"description"`
}

type server struct {
	URL string `json:"url"`
}

type tag struct {
	Name string `json:"name"`
}

type components struct {
	Schemas   map[string]*Schema           `json:"schemas"`
	Responses map[string]answerDoc         `json:"responses"`
	Headers   map[string]headerDoc         `json:"headers"`
	Security  map[string]map[string]string `json:"securitySchemes"`
}

type operationDoc struct {
	ID         string                 `json:"operationId"`
	Tags       []string               `json:"tags"`
	Title      string                 `json:"summary"`
	Words      string                 `json:"description,omitempty"`
	Parameters []parameterDoc         `json:"parameters,omitempty"`
	Body       *bodyDoc               `json:"requestBody,omitempty"`
	Answers    map[string]answerDoc   `json:"responses"`
	Security   *[]map[string][]string `json:"security,omitempty"`
}

type parameterDoc struct {
	Name     string  `json:"name"`
	In       string  `json:"in"`
	Words    string  `json:"description,omitempty"`
	Required bool    `json:"required,omitempty"`
	Schema   *Schema `json:"schema"`
}

type bodyDoc struct {
	Required bool             `json:"required"`
	Content  map[string]Media `json:"content"`
}

// Media is what is sent or answered in one media type; no schema where it is no JSON.
type Media struct {
	Schema *Schema `json:"schema,omitempty"`
}

type answerDoc struct {
	Ref     string               `json:"$ref,omitempty"`
	Words   string               `json:"description,omitempty"`
	Headers map[string]headerDoc `json:"headers,omitempty"`
	Content map[string]Media     `json:"content,omitempty"`
}

type headerDoc struct {
	Ref    string  `json:"$ref,omitempty"`
	Words  string  `json:"description,omitempty"`
	Schema *Schema `json:"schema,omitempty"`
}

const (
	jsonMedia    = "application/json"
	problemMedia = "application/problem+json"
)

// Document writes the API down. Components of the same name and different forms are
// an error.
func (a API) Document() (*Document, error) {
	w := &writer{schemas: map[string]*Schema{}, types: map[string]string{}}
	d := &Document{
		OpenAPI: "3.1.0", Info: info{a.Title, a.Version, a.Words}, Servers: []server{{a.Address}},
		Security: []map[string][]string{{"access": {}}}, Paths: map[string]map[string]operationDoc{},
		Components: components{
			Schemas: w.schemas, Responses: map[string]answerDoc{}, Headers: map[string]headerDoc{},
			Security: map[string]map[string]string{"access": {"type": "http", "scheme": "bearer", "bearerFormat": "rl_…"}},
		},
	}
	for _, h := range a.Heard {
		d.Components.Headers[h.Name] = headerDoc{Words: h.Words, Schema: w.of(h.Of)}
	}
	problem := w.of(a.Problem)
	for status, words := range a.Refused {
		d.Components.Responses[strconv.Itoa(status)] = refusedDoc(words, problem)
	}
	w.vary(a.Variants)
	for _, o := range a.Operations {
		if !slices.Contains(d.Tags, tag{o.Noun}) {
			d.Tags = append(d.Tags, tag{o.Noun})
		}
		if d.Paths[o.Path()] == nil {
			d.Paths[o.Path()] = map[string]operationDoc{}
		}
		d.Paths[o.Path()][strings.ToLower(o.Method())] = a.operation(w, o, problem)
	}
	return d, w.err
}

func refusedDoc(words string, problem *Schema) answerDoc {
	return answerDoc{Words: words, Content: map[string]Media{problemMedia: {problem}}}
}

func (a API) operation(w *writer, o Operation, problem *Schema) operationDoc {
	doc := operationDoc{ID: o.ID(), Tags: []string{o.Noun}, Title: o.Title, Words: o.Words, Answers: map[string]answerDoc{}}
	for _, name := range variables(o.Path()) {
		v, ok := a.Variables[name]
		if !ok {
			w.fail(fmt.Errorf("%s: nothing says what {%s} is", o.Route, name))
		}
		doc.Parameters = append(doc.Parameters, parameterDoc{name, "path", v.Words, true, w.of(v.Of)})
	}
	for _, q := range o.Query {
		doc.Parameters = append(doc.Parameters, parameterDoc{q.Name, "query", q.Words, q.Needed, w.of(q.Of)})
	}
	for _, h := range o.Headers {
		doc.Parameters = append(doc.Parameters, parameterDoc{h.Name, "header", h.Words, h.Needed, w.of(h.Of)})
	}
	if o.Takes != nil {
		doc.Body = &bodyDoc{true, content(o.Takes.Media, w.sent(*o.Takes))}
	}
	for _, answer := range o.Answers {
		doc.Answers[strconv.Itoa(answer.Status)] = a.answer(w, answer)
		if answer.Status >= http.StatusBadRequest { // or it is a problem, as any other
			doc.Answers[strconv.Itoa(answer.Status)].Content[problemMedia] = Media{problem}
		}
	}
	for status, words := range o.Refused {
		doc.Answers[strconv.Itoa(status)] = refusedDoc(words, problem)
	}
	for status := range a.Refused {
		if name := strconv.Itoa(status); doc.Answers[name].Words == "" && !(o.Open && status == http.StatusUnauthorized) {
			doc.Answers[name] = answerDoc{Ref: "#/components/responses/" + name}
		}
	}
	if o.Open {
		doc.Security = &[]map[string][]string{}
	}
	return doc
}

func (a API) answer(w *writer, answer Answer) answerDoc {
	doc := answerDoc{Words: answer.Words, Headers: map[string]headerDoc{}}
	for _, h := range a.Heard {
		doc.Headers[h.Name] = headerDoc{Ref: "#/components/headers/" + h.Name}
	}
	for _, h := range answer.Headers {
		doc.Headers[h.Name] = headerDoc{Words: h.Words, Schema: w.of(h.Of)}
	}
	if answer.Of != nil {
		doc.Content = content(answer.Media, w.of(answer.Of))
	} else if answer.Media != nil {
		doc.Content = content(answer.Media, nil)
	}
	return doc
}

func content(media []string, schema *Schema) map[string]Media {
	if media == nil {
		media = []string{jsonMedia}
	}
	all := map[string]Media{}
	for _, m := range media {
		all[m] = Media{schema}
	}
	return all
}
