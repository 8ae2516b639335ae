package web

import (
	"encoding/json"
	"net/url"
	"slices"
	"strconv"
	"strings"
)

// Again is a form as an event filled it in, to be recorded once more: its words,
// its choices, its dates. What was measured is left out, since it is measured
// again, and so are its rows.
func (f Form) Again(body json.RawMessage) url.Values {
	values := url.Values{}
	var said map[string]any
	if json.Unmarshal(body, &said) != nil {
		return values
	}
	for _, field := range f.Fields {
		if all := field.again(at(said, strings.Split(field.Name, "."))); len(all) > 0 {
			values[field.Name] = all
		}
	}
	return values
}

// at is what stands in a body under a path.
func at(body map[string]any, path []string) any {
	if len(path) == 1 {
		return body[path[0]]
	}
	inner, _ := body[path[0]].(map[string]any)
	return at(inner, path[1:])
}

// again is what an input held.
func (f Field) again(v any) []string {
	switch v := v.(type) {
	case string:
		return []string{v}
	case bool:
		if v {
			return []string{"yes"}
		}
	case float64:
		if f.Input == Number || f.Input == Whole {
			return []string{strconv.FormatFloat(v, 'f', -1, 64)}
		}
	case []any:
		return f.listed(v)
	}
	return nil
}

func (f Field) listed(list []any) []string {
	words := make([]string, len(list))
	for i, one := range list {
		word, isWord := one.(string)
		if !isWord {
			return nil
		}
		words[i] = word
	}
	switch f.Input {
	case Points:
		return slices.Clone(words)
	case Lines:
		return []string{strings.Join(words, "\n")}
	}
	return []string{strings.Join(words, ", ")}
}
