package server

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/server/openapi"
	"relevel/server/web"
)

// getAPIPage is GET /api: the description of the API for people. It says nothing of
// any firm, and is open to everybody.
func (p *pages) getAPIPage(w http.ResponseWriter, r *http.Request) error {
	scheme := "http"
	if isHTTPS(r) {
		scheme = "https"
	}
	page, err := apiPage(scheme + "://" + r.Host + apiAddress)
	if err != nil {
		return err
	}
	return show(w, http.StatusOK, page)
}

func apiPage(address string) (web.APIPage, error) {
	page := web.APIPage{Frame: web.Frame{Title: "The API"}, Address: apiAddress}
	api := describedAPI()
	d, err := api.Document()
	if err != nil {
		return page, err
	}
	shown, err := shownExamples()
	if err != nil {
		return page, err
	}
	page.About = strings.Split(printed(api.Words), "\n\n")
	for _, o := range api.Operations {
		if n := len(page.Nouns); n == 0 || page.Nouns[n-1].Name != o.Noun {
			page.Nouns = append(page.Nouns, web.APINoun{Name: o.Noun})
		}
		noun := &page.Nouns[len(page.Nouns)-1]
		noun.Operations = append(noun.Operations, operationOnPage(d, o, shown.Operations[o.Route], address))
	}
	page.Kinds, page.Forms = formsOnPage(d, shown.Kinds)
	for _, status := range slices.Sorted(maps.Keys(api.Refused)) {
		page.Refused = append(page.Refused, web.APIRefusal{Status: status, Words: printed(api.Refused[status])})
	}
	return page, nil
}

// printed is what a page shows of words that are written for a document.
func printed(words string) string { return strings.NewReplacer("`", "", "'", "’").Replace(words) }

func operationOnPage(d *openapi.Document, o openapi.Operation, e example, address string) web.APIOperation {
	doc := d.Paths[o.Path()][strings.ToLower(o.Method())]
	line := web.APIOperation{
		ID: o.ID(), Method: o.Method(), Path: o.Path(), Title: printed(o.Title), Words: printed(o.Words),
		Curl: curl(o, e, address), Example: indented(e.Answer),
	}
	for _, p := range doc.Parameters {
		line.Asked = append(line.Asked, web.APIField{Name: p.Name, Words: printed(p.Words), Of: typeOnPage(p.Schema), Needed: p.Required})
	}
	if doc.Body != nil {
		media := slices.Sorted(maps.Keys(doc.Body.Content))
		schema := doc.Body.Content[media[0]].Schema
		switch line.Sent = fieldsOnPage(schema, true); {
		case schema == nil:
			line.SentForm.Words = strings.Join(media, ", ")
		case line.Sent == nil:
			line.SentForm = typeOnPage(schema)
		}
	}
	for _, a := range o.Answers {
		line.Answers = append(line.Answers, answerOnPage(a, doc.Answers[strconv.Itoa(a.Status)].Content))
	}
	for _, status := range slices.Sorted(maps.Keys(o.Refused)) {
		line.Answers = append(line.Answers, web.APIAnswer{Status: status, Words: printed(o.Refused[status])})
	}
	return line
}

func answerOnPage(a openapi.Answer, content map[string]openapi.Media) web.APIAnswer {
	line := web.APIAnswer{Status: a.Status, Words: printed(a.Words)}
	media := slices.Sorted(maps.Keys(content))
	if len(media) == 0 {
		return line
	}
	schema := content[media[0]].Schema
	switch {
	case schema == nil:
		line.Form.Words = strings.Join(media, ", ")
	case schema.Ref != "":
		line.Form = typeOnPage(schema)
	default:
		line.Fields = fieldsOnPage(schema, false)
	}
	return line
}

// fieldsOnPage lists the fields of an object, and which have to be there where it is
// one that is sent.
func fieldsOnPage(s *openapi.Schema, sent bool) (fields []web.APIField) {
	if s == nil {
		return nil
	}
	for _, p := range s.Properties {
		fields = append(fields, web.APIField{
			Name: p.Name, Words: printed(p.Schema.Words), Of: typeOnPage(p.Schema), Needed: sent && slices.Contains(s.Required, p.Name),
		})
	}
	return fields
}

// typeOnPage says in words what a value is.
func typeOnPage(s *openapi.Schema) web.APIType {
	if s == nil {
		return web.APIType{}
	}
	if name := s.Component(); name != "" {
		return web.APIType{Words: plainName(name), ID: name}
	}
	if len(s.OneOf) == 2 && s.OneOf[1].Type == "null" {
		of := typeOnPage(s.OneOf[0])
		of.Words += " or null"
		return of
	}
	switch s.Type {
	case "array":
		of := typeOnPage(s.Items)
		if of.Words = "list of " + of.Words; s.MaxItems > 0 {
			of.Words = fmt.Sprintf("%d of: %s", s.MaxItems, strings.TrimPrefix(of.Words, "list of "))
		}
		return of
	case "object":
		if more, ok := s.More.(*openapi.Schema); ok {
			of := typeOnPage(more)
			of.Words = "object of " + of.Words
			return of
		}
		return web.APIType{Words: "object"}
	case "string":
		return web.APIType{Words: textOnPage(s)}
	case "boolean":
		return web.APIType{Words: "true or false"}
	case "integer":
		return web.APIType{Words: boundsOnPage("whole number", s)}
	case "number":
		return web.APIType{Words: boundsOnPage("number", s)}
	}
	return web.APIType{Words: "anything"}
}

func textOnPage(s *openapi.Schema) string {
	switch {
	case len(s.Enum) > 0:
		return strings.Join(s.Enum, ", ")
	case s.Format == "date-time":
		return "time"
	}
	return cmp.Or(s.Encoding, "text")
}

func boundsOnPage(words string, s *openapi.Schema) string {
	if s.Minimum == nil || s.Maximum == nil || *s.Maximum >= 1<<53 {
		return words
	}
	return fmt.Sprintf("%s, %g to %g", words, *s.Minimum, *s.Maximum)
}

// plainName is a form's name without that of its package.
func plainName(name string) string { return name[strings.IndexByte(name, '.')+1:] }

// formsOnPage lists the bodies of events by their kinds, and all other forms.
func formsOnPage(d *openapi.Document, bodies map[string]json.RawMessage) (kinds, forms []web.APIForm) {
	of := map[string]events.Kind{}
	for kind, name := range d.Variants() {
		of[name] = events.Kind(kind)
	}
	for _, name := range slices.Sorted(maps.Keys(d.Components.Schemas)) {
		s := d.Components.Schemas[name]
		kind, body := of[name]
		form := web.APIForm{ID: name, Name: plainName(name), Words: printed(s.Words), Fields: fieldsOnPage(s, body || name == "events.Event"), Values: s.Enum}
		if body {
			form.Name, form.Example = string(kind), indented(bodies[string(kind)])
			kinds = append(kinds, form)
			continue
		}
		forms = append(forms, form)
	}
	slices.SortFunc(kinds, func(a, b web.APIForm) int { return cmp.Compare(a.Name, b.Name) })
	slices.SortFunc(forms, func(a, b web.APIForm) int { return cmp.Compare(a.Name, b.Name) })
	return kinds, forms
}

// curl is how to ask from a terminal.
func curl(o openapi.Operation, e example, address string) string {
	var line strings.Builder
	line.WriteString("curl")
	if o.Method() != http.MethodGet {
		line.WriteString(" -X " + o.Method())
	}
	fmt.Fprintf(&line, " '%s%s'", address, e.Address)
	if !o.Open {
		line.WriteString(" \\\n  -H 'Authorization: Bearer rl_…'")
	}
	switch {
	case e.Media != "":
		fmt.Fprintf(&line, " \\\n  -H 'Content-Type: %s' --data-binary @file", e.Media)
	case e.Sent != nil:
		fmt.Fprintf(&line, " \\\n  --json '%s'", strings.ReplaceAll(indented(e.Sent), "'", `'\''`))
	}
	return line.String()
}

func indented(text json.RawMessage) string {
	var b bytes.Buffer
	if len(text) == 0 || json.Indent(&b, text, "", "  ") != nil {
		return ""
	}
	return b.String()
}
